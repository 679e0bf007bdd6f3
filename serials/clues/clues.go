// Package clues weighs years by marks that are to be seen on a machine. A mark makes years likelier, and
// never removes one.
package clues

import (
	"strings"

	"pitman/serials/names"
	"pitman/serials/table"
	"pitman/serials/years"
)

// findClues finds the marks that are meant by what was typed: the mark itself, or words that only one of them
// begins with or has.
func Find(all []table.Clue, typed string) (found []table.Clue) {
	key := names.MakerKey(typed)
	for _, fits := range []func(mark string) bool{
		func(mark string) bool { return mark == key },
		func(mark string) bool { return strings.HasPrefix(mark, key) },
		func(mark string) bool { return strings.Contains(mark, key) },
	} {
		for _, c := range all {
			if key != "" && fits(names.MakerKey(c.Mark)) {
				found = append(found, c)
			}
		}
		if found != nil {
			return found
		}
	}
	return nil
}

// weighByClues weighs the years by the clues: a year outside a mark's own is as likely as such marks are
// wrong. What has no year stands for as many years as the clues themselves reach over. With no other evidence
// the clues' own years are all there is to choose from. Hard bounds (limits) and the years that the tables
// leave (known) are kept.
func Weigh(mass *years.Mass, all []table.Clue, limits, known years.Span) {
	if len(all) == 0 {
		return
	}
	reach, closed := years.Span{}, false
	for _, c := range all {
		if one := (years.Span{From: c.From, To: c.To}); one.From != 0 && one.To != 0 {
			if closed {
				one = one.Hull(reach)
			}
			reach, closed = one, true
		}
	}
	both, fits := reach.Meet(limits)
	if mass.Outside() > 0 && closed && fits {
		if both, fits = both.Meet(known); fits {
			share := mass.Outside() / 2
			mass.Low, mass.High, mass.Undecidable = mass.Low/2, mass.High/2, mass.Undecidable/2
			mass.Even(int(both.From), int(both.To), share)
		}
	}
	wrong := 1.0
	for _, c := range all {
		wrong *= 1 - min(c.Reliability, table.MaxReliability)
	}
	mass.Weigh(func(year int) float64 {
		l := 1.0
		for _, c := range all {
			if y := years.Year(year); y < c.From || c.To != 0 && y > c.To {
				l *= 1 - min(c.Reliability, table.MaxReliability)
			}
		}
		return l
	}, wrong)
}
