package serials

import (
	"strings"

	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// A worn serial is counted by its digits: how many fillings of its worn characters lie at or below a number
// follows from one walk along the digits, so a range of a million numbers costs as little as one of ten.

func (m *maker) tally(serial string, within years.Span, read int) (t series.Tally, fillings, covered uint64) {
	for _, s := range m.order {
		f, c := t.Count(serial, s, within, read)
		fillings += f
		covered += c
	}
	t.Keep(within)
	return t, fillings, covered
}

// telling returns the place of the worn character that, once read, leaves the least doubt about the year on
// average; -1 when no single one helps.
func (m *maker) telling(serial string, within years.Span) int {
	whole, _, _ := m.tally(serial, within, -1)
	best, least := -1, whole.Doubt()*(1-1e-9)
	for i := range serial {
		if serial[i] != '?' {
			continue
		}
		doubt := 0.0
		for _, symbol := range m.symbols(i) {
			one, _, _ := m.tally(serial[:i]+string(symbol)+serial[i+1:], within, i)
			doubt += one.Doubt()
		}
		if doubt < least {
			best, least = i, doubt
		}
	}
	return best
}

// symbols returns what can stand at a place of a serial: the digits, and the letters that the maker's
// prefixes have there.
func (m *maker) symbols(i int) []byte {
	out := []byte("0123456789")
	seen := map[byte]bool{}
	for _, s := range m.order {
		if i < len(s.Prefix) && !stamp.IsDigit(s.Prefix[i]) && !seen[s.Prefix[i]] {
			seen[s.Prefix[i]] = true
			out = append(out, s.Prefix[i])
		}
	}
	return out
}

// placeIn returns the place in a serial as it is stamped of a worn character in the key that rows have; -1
// where that cannot be told.
func placeIn(stamped, key string, at int) int {
	if strings.Contains(key, "*") || strings.Count(stamped, "?") != strings.Count(key, "?") {
		return -1
	}
	nth := strings.Count(key[:at], "?")
	for i := range stamped {
		if stamped[i] == '?' {
			if nth == 0 {
				return i
			}
			nth--
		}
	}
	return -1
}
