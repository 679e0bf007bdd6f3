// Package lookup finds machines by what somebody remembers of them: any words in any order, a year or a
// decade, with a slip of the finger or without.
package lookup

import (
	"regexp"
	"strconv"
	"strings"

	"pitman/registry/near"
	"pitman/registry/stock"
)

// Machines calls fn with the machines that a filter lets through. Where its text stands on none as it was
// typed, those come that have all of its words; where there are none, those that have words like them.
func Machines(r stock.Reader, filter stock.MachineFilter, fn func(*stock.Machine) error) error {
	as, n := filter, 0
	if err := r.Machines(as, func(m *stock.Machine) error { n++; return fn(m) }); err != nil || n > 0 ||
		strings.TrimSpace(filter.Text) == "" {
		return err
	}
	if filter.After != "" { // the pages before may have shown all
		as.After, as.Limit = "", 1
		if err := r.Machines(as, func(*stock.Machine) error { n++; return nil }); err != nil || n > 0 {
			return err
		}
	}
	words := wordsOf(filter.Text)
	if len(words) == 0 {
		return nil
	}
	all := filter
	all.Text, all.After, all.Limit = "", "", 0
	for _, how := range []func(*said, word) bool{(*said).has, (*said).like} {
		// the way that finds anything is the same for every page
		found, shown, behind := false, 0, filter.After == ""
		err := r.Machines(all, func(m *stock.Machine) error {
			s := saidOf(m)
			matches := true
			for _, w := range words {
				matches = matches && how(s, w)
			}
			found = found || matches
			if matches && behind && (filter.Limit == 0 || shown < filter.Limit) {
				shown++
				if err := fn(m); err != nil {
					return err
				}
			}
			behind = behind || m.Tag == filter.After
			return nil
		})
		if err != nil || found {
			return err
		}
	}
	return nil
}

// word is one that was typed; years are those that it may mean, from the first to the last.
type word struct {
	text        string
	first, last int
}

var year = regexp.MustCompile(`^(1[789]|20)\d\ds?$`)

func wordsOf(text string) (words []word) {
	for _, w := range strings.Fields(text) {
		one := word{text: near.Fold(w)}
		if one.text == "" {
			continue
		}
		if year.MatchString(one.text) {
			one.first, _ = strconv.Atoi(one.text[:4])
			one.last = one.first
			if strings.HasSuffix(one.text, "s") {
				one.first -= one.first % 10
				one.last = one.first + 9
			}
		}
		words = append(words, one)
	}
	return words
}

// said is what is written of a machine.
type said struct {
	fields []string // folded
	words  []string
	from   *int
	to     *int
}

func saidOf(m *stock.Machine) *said {
	s := &said{from: m.From, to: m.To}
	for _, text := range []string{string(m.Tag), m.Maker, m.Model, m.Serial, string(m.Drive), m.Donor,
		m.Condition,
		m.Place, m.Note} {
		s.fields = append(s.fields, near.Fold(text))
		s.words = append(s.words, strings.Fields(text)...)
	}
	return s
}

// has says whether a word stands on the machine, or is a year of which it may be. A machine whose years are
// not bounded may be of any, and is not found by one.
func (s *said) has(w word) bool {
	if w.first != 0 && s.from != nil && s.to != nil && *s.from <= w.last && w.first <= *s.to {
		return true
	}
	for _, f := range s.fields {
		if strings.Contains(f, w.text) {
			return true
		}
	}
	return false
}

// like says whether a word stands there but for a slip, or for letters that are read as figures.
func (s *said) like(w word) bool {
	if s.has(w) {
		return true
	}
	for _, f := range s.fields {
		if strings.Contains(figures.Replace(f), figures.Replace(w.text)) {
			return true
		}
	}
	return near.Name(s.words, w.text) != ""
}

// figures reads the letters that are taken for figures on a worn plate.
var figures = strings.NewReplacer("o", "0", "i", "1", "l", "1")
