package spares

import (
	"context"
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/stock"
)

// Conversion is a change of drive: what was fitted and what came off.
type Conversion struct {
	To     registry.Drive
	Fit    []PartUse
	Remove []string // parts that go to the shelf
	Why    string
	bench.WorkNote
}

// Convert changes what drives a machine. Tests of the old drive count no longer; a machine that was tested goes back to its tests.
func (w *Spares) Convert(ctx context.Context, by registry.Initials, tag registry.Tag, c Conversion) (*stock.Machine, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "convert", c.Why, func(tx stock.Tx, m *stock.Machine) error {
		if m.Drive == c.To {
			return registry.Errorf(registry.Conflict, "%s has %s drive already: nothing to convert", tag, c.To)
		}
		at := tx.Action().At
		if err := m.MoveTo(registry.DoConvert, at); err != nil {
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
		m.Untest()
		m.Unsafe()
		// The plate is the motor's: it comes and goes with it.
		m.Class, m.Plate = "", electrical.Nameplate{}
		note := fmt.Sprintf("%s to %s", from, c.To)
		if len(fitted) > 0 {
			note += ", fitted " + strings.Join(fitted, ", ")
		}
		if len(c.Remove) > 0 {
			note += ", took off " + strings.Join(c.Remove, ", ")
		}
		if c.Note != "" {
			text, err := registry.CleanText("note", c.Note, registry.MaxNote)
			if err != nil {
				return err
			}
			note += "; " + text
		}
		return tx.Put(&bench.Work{Tag: tag, At: at, By: by, Did: "convert", Minutes: c.Minutes, Note: note, Electrical: from == registry.Electric || c.To == registry.Electric})
	})
}
