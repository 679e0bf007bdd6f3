package serials

import (
	"math/bits"

	"github.com/agnivade/levenshtein"

	"pitman/serials/stamp"
	"pitman/serials/years"
)

// alike pairs each character with the one that a worn or painted stamping makes of it. Common practice, no
// source.
var alike = map[byte]byte{
	'O': '0', '0': 'O', 'I': '1', '1': 'I', 'S': '5', '5': 'S', 'B': '8', '8': 'B', 'Z': '2', '2': 'Z',
	'G': '6', '6': 'G',
}

const (
	maxSwaps    = 12 // characters that are tried; every choice of them is one look-up
	maxWorn     = 5  // the same in a worn serial, whose look-up is a count over all rows
	maxSuggests = 5
)

// suggest looks for serials that look like the one typed and stand in a row, with as few characters changed
// as possible. It is asked only when the serial as typed finds nothing: a number that is found is never
// second-guessed.
func (a *Answer) suggest(m *maker, serial string) bool {
	var places []int
	most := maxSwaps
	if stamp.Worn(serial) {
		most = maxWorn
	}
	for i := range serial {
		if alike[serial[i]] != 0 && len(places) < most {
			places = append(places, i)
		}
	}
	found := 0
	for changes := 1; changes <= len(places) && found == 0; changes++ {
		for mask := uint(1); mask < 1<<len(places) && found < maxSuggests; mask++ {
			if bits.OnesCount(mask) != changes {
				continue
			}
			try := []byte(serial)
			for k, i := range places {
				if mask>>k&1 == 1 {
					try[i] = alike[try[i]]
				}
			}
			if e, c := m.inRow(string(try)); e.Basis != years.NoBasis {
				a.note("read as %s it would be %s: look whether a letter was taken for a digit", c, e.Year())
				found++
			}
		}
	}
	return found > 0
}

// inRow dates a serial only if a row holds it.
func (m *maker) inRow(serial string) (years.Estimate, string) {
	c := stamp.DropZeros(serial)
	if m.forms != nil {
		r, by, _ := m.read(serial, "")
		if by == nil {
			return years.Estimate{Basis: years.NoBasis}, c
		}
		e, _ := m.rowOf(r.Key)
		return e, r.Shown
	}
	return m.rowOf(c)
}

// rowOf dates a serial as the rows have it, only if a row holds it.
func (m *maker) rowOf(c string) (years.Estimate, string) {
	if stamp.Worn(c) {
		if _, _, covered := m.tally(c, years.Span{}, -1); covered > 0 {
			var a Answer
			a.worn(m, c, years.Span{}, false)
			return a.Estimate, c
		}
		return years.Estimate{Basis: years.NoBasis}, c
	}
	at := stamp.LastLetter(c) + 1
	if n, ok := stamp.ParseNumber(c[at:]); ok {
		if s := m.series[c[:at]]; s != nil {
			if _, around := s.Holding(n); !around {
				return s.At(n), c
			}
		}
	}
	return years.Estimate{Basis: years.NoBasis}, c
}

// distance tells how far two prefixes are apart; plain numbers are further from letters than any other
// letters are.
func distance(a, b string) int {
	d := 2 * levenshtein.ComputeDistance(a, b)
	if (a == "") != (b == "") {
		d++
	}
	return d
}
