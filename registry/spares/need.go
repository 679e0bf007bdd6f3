package spares

import (
	"context"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// Need is a part that a machine waits for.
type Need struct {
	registry.Row
	Tag   registry.Tag `json:"tag" db:"tag"`
	Part  string       `json:"part" db:"part"`
	Since time.Time    `json:"since" db:"since"`
	Met   bool         `json:"met" db:"met"`
}

// Kind names the table.
func (*Need) Kind() string { return "need" }

// Subject is the machine that waits.
func (n *Need) Subject() string { return string(n.Tag) }

// NeedSpare notes that a machine waits for a part.
func (w *Spares) NeedSpare(ctx context.Context, by registry.Initials, tag registry.Tag,
	name string) (*stock.Machine, error) {
	return w.OnMachine(ctx, by, tag, "spare need", "", func(tx stock.Tx, m *stock.Machine) error {
		if err := m.MoveTo(registry.DoNeed, tx.Action().At); err != nil {
			return err
		}
		part, err := w.PartNamed(name)
		if err != nil {
			return err
		}
		var open []Need
		if err := tx.All(&open, stock.Fields{"tag": tag, "part": part.Part, "met": false}); err != nil {
			return err
		}
		if len(open) > 0 {
			return registry.Errorf(registry.Conflict, "%s waits for a %s already, since %s", tag, part.Part,
				open[0].Since.In(w.Location()).Format(time.DateOnly))
		}
		return tx.Put(&Need{Tag: tag, Part: part.Part, Since: tx.Action().At})
	})
}

// OpenNeed is a part that a machine waits for, and how many lie on the shelf.
type OpenNeed struct {
	Need
	OnShelf int `json:"on_shelf"`
	Machine *stock.Machine
}

// Needs lists what machines wait for.
func (w *Spares) Needs(ctx context.Context) (needs []OpenNeed, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		needs, err = OpenNeeds(r)
		return err
	})
	return needs, err
}

// OpenNeeds leaves out machines that do not wait any more: they are ready without the part, or gone.
func OpenNeeds(r stock.Reader) ([]OpenNeed, error) {
	var open []Need
	if err := r.All(&open, stock.Fields{"met": false}); err != nil {
		return nil, err
	}
	needs := []OpenNeed{}
	for _, n := range open {
		m, err := stock.MachineByTag(r, n.Tag)
		if err != nil {
			return nil, err
		}
		if _, waits := registry.MoveOf(registry.UnitMachine, registry.DoNeed, m.Stage); !waits ||
			m.HandedTo != "" {
			continue
		}
		free, err := onShelf(r, n.Part)
		if err != nil {
			return nil, err
		}
		s, err := supplyOf(r, n.Part)
		if err != nil {
			return nil, err
		}
		needs = append(needs, OpenNeed{n, len(free) + s.Count, m})
	}
	slices.SortStableFunc(needs, func(a, b OpenNeed) int { return a.Since.Compare(b.Since) })
	return needs, nil
}
