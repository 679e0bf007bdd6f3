package spares

import (
	"context"
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

// Conversion is a change of drive: what was fitted and what came off.
type Conversion struct {
	To     registry.Drive
	Fit    []PartUse
	Remove []string // parts that go to the shelf
	Off    []string // mains parts that came off and go nowhere
	Never  []string // mains parts that it never had
	// Confirmed is the competent person who looked, and says that nothing on it takes the mains any more;
	// empty when whoever converts it does.
	Confirmed registry.Initials
	Why       string
	bench.WorkNote
}

// Convert changes what drives a machine. Tests of the old drive count no longer; a machine that was tested
// goes back to its tests.
func (w *Spares) Convert(ctx context.Context, by registry.Initials, tag registry.Tag,
	c Conversion) (*stock.Machine, error) {
	if err := c.Check(); err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "convert", c.Why, func(tx stock.Tx, m *stock.Machine) error {
		if m.Drive == c.To {
			return registry.Errorf(registry.Conflict, "%s has %s drive already: nothing to convert", tag,
				c.To)
		}
		at := tx.Action().At
		if err := m.MoveTo(registry.DoConvert, at); err != nil {
			return err
		}
		from, took := m.Drive, m.TakesMains()
		for _, part := range c.Remove {
			if _, err := w.takePart(tx, m, part, m.Place); err != nil {
				return err
			}
		}
		if err := c.account(m); err != nil {
			return err
		}
		if err := c.accounted(m); err != nil {
			return err
		}
		m.Drive = c.To
		if err := w.NothingLeft(ctx, tx, c.confirmer(by), took, m); err != nil {
			return err
		}
		confirmed := took && !m.TakesMains()
		var fitted []string
		for _, use := range c.Fit {
			name, err := w.fitPart(tx, m, use)
			if err != nil {
				return err
			}
			fitted = append(fitted, name)
		}
		m.CancelTest()
		m.CancelSafety()
		// The plate is the motor's: it comes and goes with it.
		m.Class, m.Plate = "", electrical.Nameplate{}
		note := fmt.Sprintf("%s to %s", from, c.To)
		if len(fitted) > 0 {
			note += ", fitted " + strings.Join(fitted, ", ")
		}
		if len(c.Remove) > 0 {
			note += ", took off " + strings.Join(c.Remove, ", ")
		}
		if confirmed {
			note += ", nothing on it takes the mains: " + string(c.confirmer(by))
		}
		if c.Note != "" {
			text, err := registry.CleanText("note", c.Note, registry.MaxNote)
			if err != nil {
				return err
			}
			note += "; " + text
		}
		return tx.Put(&bench.Work{Tag: tag, At: at, By: by, Did: "convert", Minutes: c.Minutes, Note: note,
			Electrical: took || c.To == registry.Electric})
	})
}

// account notes what became of the mains parts that went to no shelf.
func (c *Conversion) account(m *stock.Machine) error {
	for state, parts := range map[mains.State][]string{mains.Off: c.Off, mains.Never: c.Never} {
		for _, part := range parts {
			part, err := mains.ParsePart(part)
			if err != nil {
				return err
			}
			m.MoveMains(state, part)
		}
	}
	return nil
}

func (c *Conversion) confirmer(by registry.Initials) registry.Initials {
	if c.Confirmed != "" {
		return c.Confirmed
	}
	return by
}

// accounted lets what is electric become something else only when each part that carries the mains is
// accounted for.
func (c *Conversion) accounted(m *stock.Machine) error {
	if on := m.MainsOn(); m.Drive == registry.Electric && len(on) > 0 {
		return registry.Errorf(registry.Conflict,
			"%s still has parts on it that take the mains, or may: %s; take each off, or say that it never "+
				"had one, before it becomes a %s machine", m.Tag, on, c.To)
	}
	return nil
}
