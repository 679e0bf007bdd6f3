package serials

import (
	"slices"
	"strings"

	"pitman/serials/names"
	"pitman/serials/table"
)

// join takes in what the files say beside numbers: registers, clues, and other spellings of makers. A
// spelling that several makers share belongs to none of them: it is asked.
func (t *Tables) join(files []*table.Table) {
	t.shared = map[string][]string{}
	byKey := map[string][]string{}
	for _, f := range files {
		for _, c := range f.Clues {
			t.clues = append(t.clues, makersClue{Clue: c, key: names.MakerKey(c.Maker)})
		}
		for _, s := range f.Spellings {
			if key := names.MakerKey(s.Spelling); !slices.Contains(byKey[key], s.Maker) {
				byKey[key] = append(byKey[key], s.Maker)
			}
		}
	}
	for key, makers := range byKey {
		slices.Sort(makers)
		switch m := t.makers[names.MakerKey(makers[0])]; {
		case t.makers[key] != nil: // rows of that very name come first
		case len(makers) > 1:
			t.shared[key] = makers
		case m != nil:
			t.makers[key] = m
		}
	}
	slices.SortStableFunc(t.clues, func(a, b makersClue) int {
		return strings.Compare(a.key+"\x00"+a.Mark, b.key+"\x00"+b.Mark)
	})
	for i := range t.clues {
		t.clues[i].of = t.makers[t.clues[i].key]
	}
}

// makersClue is a clue with the key of the maker that it names, and that maker if the tables have it.
type makersClue struct {
	table.Clue
	key string
	of  *maker
}

// isOf says whether the clue is of a maker, which m is if the tables have it.
func (c makersClue) isOf(key string, m *maker) bool {
	return c.key == key && key != "" || m != nil && c.of == m
}

// SharedBy returns the makers that a spelling or badge can stand for when it is several.
func (t *Tables) SharedBy(name string) []string { return t.shared[names.MakerKey(name)] }

// register returns the register of a model, if its numbers are apart.
func (m *maker) register(model string) *register {
	if key := names.ModelKey(model); m != nil && key != "" {
		return m.registers[key]
	}
	return nil
}

// register is a maker's machines that were numbered apart.
type register struct {
	table.Register
	numbers *maker // its rows
}
