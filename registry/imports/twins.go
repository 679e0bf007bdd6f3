package imports

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"pitman/registry/sheet"
)

// Twin is a row that has the maker and the serial number of another, and tells of it what that does not.
type Twin struct {
	Row, As       int
	Maker, Serial string
	Differs       []string
}

// Decided is what a person said of a row.
type Decided int

const (
	Another Decided = 1 + iota // it is a machine of its own
	LeftOut                    // it is to be passed over
)

func (t Twin) String() string {
	return fmt.Sprintf("%s %s stands in row %d and in row %d", t.Maker, t.Serial, t.As, t.Row)
}

// Choices are what the two rows can be, in words.
func (t Twin) Choices() []string {
	return []string{"two machines", fmt.Sprintf("one: leave out row %d", t.Row),
		fmt.Sprintf("one: leave out row %d", t.As)}
}

// Decide adds one of the choices, counted from 1, to what was decided of rows; it says whether it is one.
func (t Twin) Decide(choice int, decided map[int]Decided) (map[int]Decided, bool) {
	decided = maps.Clone(decided) // what a page of before holds stays whole
	if decided == nil {
		decided = map[int]Decided{}
	}
	switch choice {
	case 1:
		decided[t.Row] = Another
	case 2:
		decided[t.Row] = LeftOut
	case 3:
		decided[t.As] = LeftOut
	default:
		return decided, false
	}
	return decided, true
}

// Beside is a field in which two rows differ, with what each says.
type Beside struct{ Field, As, Row string }

// SideBySide reads the rows of twins again, and lists for each what its two rows say differently.
func SideBySide(from io.Reader, headerRow int, fields Columns, twins []Twin) ([][]Beside, error) {
	wanted := map[int][]string{}
	for _, t := range twins {
		wanted[t.Row], wanted[t.As] = nil, nil
	}
	r, err := sheet.OpenAt(from, func(string) bool { return false }, headerRow)
	for err == nil {
		var cells []string
		if cells, _, err = r.Read(); err != nil {
			break
		}
		if _, is := wanted[r.Row()]; is {
			wanted[r.Row()] = slices.Clone(cells)
		}
	}
	if !errors.Is(err, io.EOF) {
		return nil, err
	}
	all := make([][]Beside, len(twins))
	for n, t := range twins {
		for i, field := range fields {
			one, other := cellAt(wanted[t.As], i), cellAt(wanted[t.Row], i)
			if field != "" && one != other {
				all[n] = append(all[n], Beside{field, one, other})
			}
		}
	}
	return all, nil
}

func cellAt(cells []string, i int) string {
	if i >= len(cells) {
		return ""
	}
	return strings.Join(strings.Fields(cells[i]), " ")
}
