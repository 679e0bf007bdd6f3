package intake

import (
	"strings"

	"pitman/registry"
	"pitman/registry/fields"
)

// Load is what came at once from one donor; what all of it has in common is asked once.
type Load struct {
	Donor, Place string
	Day          string // on which it came
	Receipt      string // the number of the donor's, or ""
}

// LoadDay reads the day on which a load came, which is none to come.
func (w *Intake) LoadDay(typed string) (string, error) {
	today := w.Stock.LocalDay(w.Stock.Now())
	day, err := fields.ParseDay("day", typed)
	if err == nil && day > today {
		err = registry.Errorf(registry.Invalid,
			"day %s is yet to come: type the day on which it came, such as %s",
			day, today)
	}
	return day, err
}

// LoadNote is what the papers of a load say, for the note of each of its machines.
func (w *Intake) LoadNote(l Load) string {
	var notes []string
	if l.Receipt != "" {
		notes = append(notes, "receipt "+l.Receipt)
	}
	if l.Day != "" && l.Day != w.Stock.LocalDay(w.Stock.Now()) {
		notes = append(notes, "came on "+l.Day)
	}
	return strings.Join(notes, ", ")
}
