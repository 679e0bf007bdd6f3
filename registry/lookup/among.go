package lookup

import (
	"slices"
	"strings"

	"pitman/registry/near"
	"pitman/registry/stock"
)

// Among gives those of a list that a filter lets through, as Machines does of what is stored.
func Among(list []stock.Machine, filter stock.MachineFilter) (found []stock.Machine) {
	for i := range list {
		if fits(&list[i], filter) {
			found = append(found, list[i])
		}
	}
	text := near.Fold(filter.Text)
	if text == "" {
		return found
	}
	words := wordsOf(filter.Text)
	for _, how := range []func(*said) bool{
		func(s *said) bool {
			return slices.ContainsFunc(s.fields, func(f string) bool { return strings.Contains(f, text) })
		},
		func(s *said) bool { return all(words, func(w word) bool { return s.has(w) }) },
		func(s *said) bool { return all(words, func(w word) bool { return s.like(w) }) },
	} {
		named := slices.DeleteFunc(slices.Clone(found),
			func(m stock.Machine) bool { return !how(saidOf(&m)) })
		if len(named) > 0 {
			return named
		}
	}
	return nil
}

func all(words []word, has func(word) bool) bool {
	return len(words) > 0 && !slices.ContainsFunc(words, func(w word) bool { return !has(w) })
}

// fits holds a machine against all of a filter but its text. What is stored is asked the same in SQL, and a
// test holds the two together.
func fits(m *stock.Machine, f stock.MachineFilter) bool {
	switch {
	case f.Stage != "" && m.Stage != f.Stage,
		f.Drive != "" && m.Drive != f.Drive,
		f.Maker != "" && m.MakerKey != stock.MakerKey(f.Maker),
		f.Here && m.HandedTo != "",
		f.Place != "" && !strings.EqualFold(m.Place, f.Place),
		(f.MadeFrom != 0 || f.MadeTo != 0) && m.From == nil && m.To == nil,
		f.MadeFrom != 0 && m.To != nil && *m.To < f.MadeFrom,
		f.MadeTo != 0 && m.From != nil && *m.From > f.MadeTo,
		f.NoYear && (m.From != nil || m.To != nil || m.Best != nil ||
			slices.Contains(stock.OpenBases(), m.Basis)):
		return false
	}
	return true
}
