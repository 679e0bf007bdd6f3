package spares

import (
	"context"
	"fmt"
	"strings"
	"time"

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
		if v, ok := c.Fields["unsafe_why"]; ok && c.Kind == m.Kind() && a.At.After(passed) {
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
	var fitted []Spare
	if err := r.All(&fitted, stock.Fields{"fitted_to": m.Tag, "part": part}); err != nil {
		return "", err
	}
	for _, s := range fitted {
		if s.FittedAt.After(passed) {
			why = s.Failed
		}
	}
	return why, nil
}

// lastPass is when a machine passed its last safety test; zero for never.
func lastPass(r stock.Reader, tag registry.Tag) (at time.Time, err error) {
	var tests []bench.SafetyTest
	if err := r.All(&tests, stock.Fields{"tag": tag}); err != nil {
		return at, err
	}
	for _, t := range tests {
		if t.Pass && t.Withdrawn == "" && t.Revives.IsZero() {
			at = t.At
		}
	}
	return at, nil
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
	var fitted, taken []Spare
	if err := r.All(&fitted, stock.Fields{"fitted_to": tag}); err != nil {
		return nil, err
	}
	if err := r.All(&taken, stock.Fields{"taken_from": tag}); err != nil {
		return nil, err
	}
	passed, err := lastPass(r, tag)
	if err != nil {
		return nil, err
	}
	gone := func(s *Spare) bool {
		for _, t := range taken {
			if t.Part == s.Part && !t.TakenAt.Before(s.FittedAt) {
				return true
			}
		}
		return false
	}
	for i := range fitted {
		if s := &fitted[i]; s.Failed != "" && s.FittedAt.After(passed) && !gone(s) {
			said = append(said, fmt.Sprintf("%s %s %s", s.Part, s.Code(), s.Came()))
		}
	}
	return said, nil
}
