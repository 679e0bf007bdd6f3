package intake

import (
	"pitman/registry"
	"pitman/registry/stock"
)

// MaxNumber is the highest number that a tag of this house may bring in from outside, so that a slip cannot
// use up all numbers.
const MaxNumber = 99_999_999

// Beyond says that a tag of this house has a number that it cannot have given.
func (w *Intake) Beyond(tag registry.Tag) bool {
	letters, n, _ := tag.Parts()
	return letters == w.Stock.Config.House.Letters && n > MaxNumber
}

// MayTake says whether a tag from outside is free in this house. One that was ever given here is not,
// whatever became of its bearer.
func (w *Intake) MayTake(r stock.Reader, tag registry.Tag) error {
	if w.Beyond(tag) {
		return registry.Errorf(registry.Invalid,
			"tag %s has a number above %d: type a tag that this house gave", tag, MaxNumber)
	}
	events, err := r.History(string(tag))
	if err == nil && len(events) > 0 {
		return registry.Errorf(registry.Conflict,
			"tag %s was given in this house before, and is no machine in it now: empty the cell, and the "+
				"machine gets a new tag", tag)
	}
	return err
}
