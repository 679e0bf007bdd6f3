package desk

import (
	"strings"

	"pitman/serials"
)

// reason tells the year and what it rests on in one line.
func reason(a serials.Answer) string {
	lines := a.Lines()
	year := lines[0]
	if _, rest, ok := strings.Cut(year, a.Serial+": "); ok {
		year = rest
	} else if _, rest, ok := strings.Cut(year, "number: "); ok {
		year = rest
	}
	if len(a.Conflicts) > 0 {
		return year + " · " + a.Conflicts[0]
	}
	if len(a.Shares) > 1 {
		for _, note := range a.Notes {
			if strings.Contains(note, "settle") {
				return year + " · " + note
			}
		}
	}
	for _, l := range lines[1:] {
		if strings.Contains(l, "table row") || len(a.Rows) == 0 {
			return year + " · " + strings.TrimSpace(l)
		}
	}
	return year
}
