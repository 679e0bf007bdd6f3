// Package misread is what the words in a sheet are to be read as, where one may be a slip of the pen: each is
// asked of once, however many rows have it.
package misread

import (
	"cmp"
	"slices"
	"strings"

	"pitman/registry/sheet"
)

// Typed is a word in a field of a file.
type Typed struct {
	Field, Value string
	Maker        string // in the row where it stood first
	Rows         int
}

// Word is a word in a field of a file that may stand for another.
type Word struct{ Field, Value string }

// maxWords is how many different words of a field are looked at: a list that has more is one of names that
// nobody writes twice.
const maxWords = 2000

// TypedIn lists the words in some fields of the rest of a sheet: field by field, the most frequent word
// first, each once. read says what some are to be read as; it may be nil.
func TypedIn(r *sheet.Reader, c []string, fields []string, read map[Word]string) (list []*Typed) {
	seen := make([]map[string]*Typed, len(c)) // of each column that is looked at
	for i, field := range c {
		if slices.Contains(fields, field) {
			seen[i] = map[string]*Typed{}
		}
	}
	maker := slices.Index(c, "maker")
	for {
		cells, _, err := r.Read()
		if err != nil {
			break
		}
		for i, cell := range cells[:min(len(cells), len(c))] {
			if seen[i] == nil {
				continue
			}
			if cell = strings.TrimSpace(cell); cell == "" {
				continue
			}
			if meant, ok := read[Word{c[i], cell}]; ok {
				cell = meant
			}
			word := seen[i][cell]
			if word == nil {
				if len(seen[i]) == maxWords {
					continue
				}
				word = &Typed{Field: c[i], Value: cell}
				seen[i][cell] = word
				if maker >= 0 && maker < len(cells) {
					word.Maker = strings.TrimSpace(cells[maker])
				}
				list = append(list, word)
			}
			word.Rows++
		}
	}
	slices.SortStableFunc(list, func(a, b *Typed) int {
		if by := slices.Index(fields, a.Field) - slices.Index(fields, b.Field); by != 0 {
			return by
		}
		return b.Rows - a.Rows
	})
	return list
}

// Settle finds out of each word what is meant by it: ask says so, told its field, the maker in whose row
// it stands and the word. What stays as typed is known from then on (also). as names the field of which a
// word is asked, where it has another name in the file.
func Settle(words []*Typed, as map[string]string, read map[Word]string,
	also func(field, maker, word string), ask func(field, maker string, t *Typed) (string, error)) error {
	for _, t := range words {
		field, maker := cmp.Or(as[t.Field], t.Field), t.Maker
		if meant, ok := read[Word{"maker", maker}]; ok {
			maker = meant
		}
		meant, err := ask(field, maker, t)
		if err != nil {
			return err
		}
		if meant != t.Value {
			read[Word{t.Field, t.Value}] = meant
		} else {
			also(field, maker, t.Value)
		}
	}
	return nil
}
