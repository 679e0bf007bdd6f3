package registry

import (
	"context"
	"fmt"
	"strings"
)

// Conversion is a change of drive: what was fitted and what came off.
type Conversion struct {
	To     Drive
	Fit    []PartUse
	Remove []string // parts that go to the shelf
	Why    string
	WorkNote
}

// Convert changes what drives a machine. Tests of the old drive count no longer; a machine that was tested goes back to its tests.
func (w *Workshop) Convert(ctx context.Context, by Initials, tag Tag, c Conversion) (*Machine, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	return w.onMachine(ctx, by, tag, "convert", c.Why, func(tx Tx, m *Machine) error {
		if m.Drive == c.To {
			return Errorf(Conflict, "%s has %s drive already: nothing to convert", tag, c.To)
		}
		at := tx.Action().At
		if err := m.moveTo(doConvert, at); err != nil {
			return err
		}
		from := m.Drive
		for _, part := range c.Remove {
			if _, err := w.takePart(tx, m, part, m.Place); err != nil {
				return err
			}
		}
		m.Drive = c.To
		var fitted []string
		for _, use := range c.Fit {
			name, err := w.fitPart(tx, m, use)
			if err != nil {
				return err
			}
			fitted = append(fitted, name)
		}
		m.untest()
		m.unsafe()
		// The plate is the motor's: it comes and goes with it.
		m.Class, m.Plate = "", Nameplate{}
		note := fmt.Sprintf("%s to %s", from, c.To)
		if len(fitted) > 0 {
			note += ", fitted " + strings.Join(fitted, ", ")
		}
		if len(c.Remove) > 0 {
			note += ", took off " + strings.Join(c.Remove, ", ")
		}
		if c.Note != "" {
			text, err := cleanText("note", c.Note, maxNote)
			if err != nil {
				return err
			}
			note += "; " + text
		}
		return tx.Put(&Work{Tag: tag, At: at, By: by, Did: "convert", Minutes: c.Minutes, Note: note, Electrical: from == Electric || c.To == Electric})
	})
}
