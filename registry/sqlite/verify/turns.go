package verify

import (
	"strconv"
	"strings"
)

// What comes in in turns is told by the note of the link of its first turn, and by that of the link at its
// end. Between them its records are struck, although their history does not say so.
const (
	TurnsBegun = "turns begun "
	TurnsEnded = "turns ended "
)

// InTurns is the action that has come in in part, as the chain tells it; 0 for none.
func InTurns(r Source) (action int64, err error) {
	notes, err := Strings(r, "SELECT note FROM link WHERE note >= 'turns ' AND note < 'turns!' ORDER BY id")
	for _, note := range notes {
		if number, begun := strings.CutPrefix(note, TurnsBegun); begun {
			action, _ = strconv.ParseInt(number, 10, 64) // the sum of its link says whether it is a number
		} else if strings.HasPrefix(note, TurnsEnded) {
			action = 0
		}
	}
	return action, err
}

// QuickSinceTurns is Quick, with the chain from where this action's turns began: neither its beginning nor
// the lack of an end is believed of a chain that somebody changed.
func (v *Verification) QuickSinceTurns(action int64) error {
	if err := v.Quick(); err != nil {
		return err
	}
	return v.Guard("chain", func() error {
		begun, err := v.link("SELECT id, action, change, note, sum FROM link WHERE note = ? "+
			"ORDER BY id DESC LIMIT 1", TurnsBegun+strconv.FormatInt(action, 10))
		if err != nil {
			return err
		}
		before, err := v.link("SELECT id, action, change, note, sum FROM link WHERE id = ?", begun.ID-1)
		if err != nil {
			return err
		}
		return v.walk(before, false)
	})
}
