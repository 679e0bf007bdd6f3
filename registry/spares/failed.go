package spares

import (
	"context"
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

// A part that carries the mains keeps what was found wrong with the machine that it came from: nobody can
// tell from the shelf whether it was this part. It is told until the machine that it went into passes.

// carries says whether a part of the list carries the mains.
func (p PartKind) carries() bool { return bool(p.Electrical) || len(mains.InSpare(p.Part)) > 0 }

// Came says what is known against the part; "" when nothing is.
func (s *Spare) Came() string {
	if s.Failed == "" {
		return ""
	}
	return "came from " + s.Failed
}

// failedOn says which machine failed with this part on it, and what: this one since its last pass, or the one
// that the part was on before.
func failedOn(r stock.Reader, m *stock.Machine, part string) (string, error) {
	passed, err := lastPass(r, m.Tag)
	if err != nil {
		return "", err
	}
	why := ""
	err = r.Changes(string(m.Tag), func(a *registry.Action, c *registry.Change) error {
		if v, ok := c.Fields["unsafe_why"]; ok && c.Kind == m.Kind() && a.ID > passed {
			if now, _ := v[1].(string); now != "" || a.Undoes != 0 {
				why = now
			}
		}
		return nil
	})
	if err != nil {
		return "", err
	}
	if why != "" {
		if !strings.HasPrefix(why, "function test") {
			why = "safety test: " + why
		}
		return fmt.Sprintf("%s, which failed its %s", m.Tag, why), nil
	}
	fitted, err := suspects(r, m.Tag, passed)
	for _, s := range fitted {
		if s.Part == part {
			why = s.Failed
		}
	}
	return why, err
}

// lastPass is the action in which a machine passed its last safety test; nought for never. What came after
// what is told by the order in which it was kept: a clock may be set back.
func lastPass(r stock.Reader, tag registry.Tag) (action int64, err error) {
	var tests []bench.SafetyTest
	if err := r.All(&tests, stock.Fields{"tag": tag}); err != nil {
		return 0, err
	}
	for _, t := range tests {
		if t.Pass && t.Withdrawn == "" && t.Revives.IsZero() {
			if action, err = given(r, &t, t.ID, "pass"); err != nil {
				return 0, err
			}
		}
	}
	return action, nil
}

// given is the last action that gave a field of a record its value.
func given(r stock.Reader, rec registry.Record, id int64, field string) (action int64, err error) {
	err = r.Changes(rec.Subject(), func(a *registry.Action, c *registry.Change) error {
		if _, told := c.Fields[field]; told && c.Kind == rec.Kind() && c.Ref == id {
			action = a.ID
		}
		return nil
	})
	return action, err
}

// Suspect names the parts on a machine that came from one which failed, and have passed no test here since.
func (w *Spares) Suspect(ctx context.Context, tag registry.Tag) (said []string, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		said, err = suspect(r, tag)
		return err
	})
	return said, err
}

func suspect(r stock.Reader, tag registry.Tag) (said []string, err error) {
	passed, err := lastPass(r, tag)
	if err != nil {
		return nil, err
	}
	found, err := suspects(r, tag, passed)
	for i := range found {
		s := &found[i]
		said = append(said, fmt.Sprintf("%s %s %s", s.Part, s.Code(), s.Came()))
	}
	return said, err
}

// suspects are the parts that were put into a machine after an action, are in it still, and came from one
// that failed.
func suspects(r stock.Reader, tag registry.Tag, passed int64) (found []Spare, err error) {
	var fitted, taken []Spare
	if err := r.All(&fitted, stock.Fields{"fitted_to": tag}); err != nil {
		return nil, err
	}
	if err := r.All(&taken, stock.Fields{"taken_from": tag}); err != nil {
		return nil, err
	}
	for _, s := range fitted {
		if s.Failed == "" {
			continue
		}
		at, err := given(r, &s, s.ID, "fitted_to")
		if err != nil {
			return nil, err
		}
		stays := at > passed
		for _, t := range taken {
			if t.Part == s.Part && stays {
				off, err := given(r, &t, t.ID, "taken_from")
				if err != nil {
					return nil, err
				}
				stays = off < at
			}
		}
		if stays {
			found = append(found, s)
		}
	}
	return found, nil
}
