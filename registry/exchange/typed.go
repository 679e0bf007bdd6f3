package exchange

import (
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

// maxTyped is how many different words of a field are looked at: a list that has more is one of names that
// nobody writes twice.
const maxTyped = 2000

// TypedIn lists the words in some fields of the rest of a sheet: field by field, the most frequent word
// first, each once. read says what some are to be read as; it may be nil.
func TypedIn(r *sheet.Reader, c Columns, fields []string, read map[Misread]string) (list []*Typed) {
	seen, count := map[Misread]*Typed{}, map[string]int{}
	maker := slices.Index(c, "maker")
	for {
		cells, _, err := r.Read()
		if err != nil {
			break
		}
		for i, cell := range cells {
			cell = strings.TrimSpace(cell)
			if i >= len(c) || cell == "" || !slices.Contains(fields, c[i]) {
				continue
			}
			if meant, ok := read[Misread{c[i], cell}]; ok {
				cell = meant
			}
			at := Misread{c[i], cell}
			if seen[at] == nil {
				if count[c[i]]++; count[c[i]] > maxTyped {
					continue
				}
				seen[at] = &Typed{Field: c[i], Value: cell}
				if maker >= 0 && maker < len(cells) {
					seen[at].Maker = strings.TrimSpace(cells[maker])
				}
				list = append(list, seen[at])
			}
			seen[at].Rows++
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
