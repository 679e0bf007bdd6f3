package registry

import (
	"context"
	"slices"
	"time"
)

// Need is a part that a machine waits for.
type Need struct {
	Row
	Tag   Tag       `json:"tag" db:"tag"`
	Part  string    `json:"part" db:"part"`
	Since time.Time `json:"since" db:"since"`
	Met   bool      `json:"met" db:"met"`
}

// Kind names the table.
func (*Need) Kind() string { return "need" }

// Subject is the machine that waits.
func (n *Need) Subject() string { return string(n.Tag) }

// NeedSpare notes that a machine waits for a part.
func (w *Workshop) NeedSpare(ctx context.Context, by Initials, tag Tag, name string) (*Machine, error) {
	return w.onMachine(ctx, by, tag, "spare need", "", func(tx Tx, m *Machine) error {
		if err := m.moveTo(doNeed, tx.Action().At); err != nil {
			return err
		}
		part, err := w.partNamed(name)
		if err != nil {
			return err
		}
		var open []Need
		if err := tx.All(&open, Fields{"tag": tag, "part": part.Part, "met": false}); err != nil {
			return err
		}
		if len(open) > 0 {
			return Errorf(Conflict, "%s waits for a %s already, since %s", tag, part.Part, open[0].Since.In(w.Config.Location()).Format(time.DateOnly))
		}
		return tx.Put(&Need{Tag: tag, Part: part.Part, Since: tx.Action().At})
	})
}

// OpenNeed is a part that a machine waits for, and how many lie on the shelf.
type OpenNeed struct {
	Need
	OnShelf int `json:"on_shelf"`
	machine *Machine
}

// Needs lists what machines wait for.
func (w *Workshop) Needs(ctx context.Context) (needs []OpenNeed, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		needs, err = openNeeds(r)
		return err
	})
	return needs, err
}

// openNeeds leaves out machines that do not wait any more: they are ready without the part, or gone.
func openNeeds(r Reader) ([]OpenNeed, error) {
	var open []Need
	if err := r.All(&open, Fields{"met": false}); err != nil {
		return nil, err
	}
	needs := []OpenNeed{}
	for _, n := range open {
		m, err := MachineByTag(r, n.Tag)
		if err != nil {
			return nil, err
		}
		if _, waits := moveOf(unitMachine, doNeed, m.Stage); !waits || m.HandedTo != "" {
			continue
		}
		var free []Spare
		if err := r.All(&free, Fields{"part": n.Part, "fitted_to": ""}); err != nil {
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
