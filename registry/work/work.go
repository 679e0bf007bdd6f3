// Package work is the work that orders were promised with: which is to be done, and what the records say once
// it is.
package work

import (
	"context"
	"regexp"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/fit"
	"pitman/registry/mains"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Works is the room where promised work is done.
type Works struct {
	*stock.Stock
	Orders *orders.Orders
	Fit    *fit.FitConfig
	Belt   *fit.BeltConfig
}

var workID = regexp.MustCompile(`^(.+)-0*([1-9][0-9]{0,8})$`)

// ParseID reads the number of a work order: ORD1-3, or 1-3.
func ParseID(s string) (order, id string, err error) {
	m := workID.FindStringSubmatch(strings.TrimSpace(s))
	if m != nil {
		if order, err = orders.ParseOrder(m[1]); err == nil {
			return order, order + "-" + m[2], nil
		}
	}
	return "", "",
		registry.Errorf(registry.Invalid, "work %q is no number of work: type it as ORD1-3",
			s).On("id").Then(registry.Next(registry.DoListWork, ""))
}

// ListWork lists the work of one order, or of all that are open.
func (w *Works) ListWork(ctx context.Context, number string) (list []orders.WorkOrder, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		list, err = w.Orders.OrderWork(r, number)
		return err
	})
	return list, err
}

// WorkIsDone notes that a job was done, by whom and in how long, and changes what the records say of head and
// base. Minutes of 0 are not said. The place stays; the set is tried anew before it is packed.
func (w *Works) WorkIsDone(ctx context.Context, by registry.Initials, number, id string,
	minutes int) (*orders.WorkOrder, error) {
	if err := (bench.WorkNote{Minutes: minutes}).Check(); err != nil {
		return nil, err
	}
	var k *orders.WorkOrder
	_, err := w.Orders.OnOrder(ctx, by, number, "work done", "",
		func(tx stock.Tx, _ *orders.Order) (err error) {
			if k, err = w.open(tx, number, id); err != nil {
				return err
			}
			at := tx.Action().At
			k.DoneAt, k.By, k.Spent, k.State = at, by, minutes, orders.WorkDone
			if err := w.change(tx, k); err != nil {
				return err
			}
			s, err := promise.SetOf(tx, k.Head)
			if err != nil {
				return err
			}
			s.TriedAt, s.TriedBy = time.Time{}, ""
			if err := tx.Put(s); err != nil {
				return err
			}
			return tx.Put(k)
		})
	return k, err
}

// open reads a work order that is still to be done.
func (w *Works) open(r stock.Reader, number, id string) (*orders.WorkOrder, error) {
	works, err := w.Orders.OrderWork(r, number)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(works, func(k orders.WorkOrder) bool { return k.ID == id })
	switch {
	case i < 0:
		return nil, registry.Errorf(registry.NotFound,
			"work %s is not on order %s, or went back with its place", id, number).
			On("id").Then(registry.Next(registry.DoListWork, ""))
	case works[i].State == orders.WorkDone:
		return nil, registry.Errorf(registry.Conflict, "work %s was done by %s already", id, works[i].By)
	}
	return &works[i], nil
}

// change says in the records of head and base what the job has changed. Both must lie open: what is in its
// crate was not worked on.
func (w *Works) change(tx stock.Tx, k *orders.WorkOrder) error {
	m, err := stock.MachineByTag(tx, k.Head)
	if err != nil {
		return err
	}
	if m.Stage != registry.Reserved {
		return packed(k.Order, k.Head)
	}
	if k.Skill == registry.SkillElectrical {
		return w.changeMains(tx, k, m)
	}
	if k.Base == "" {
		return nil
	}
	b, err := stock.BaseByTag(tx, k.Base)
	if err != nil {
		return err
	}
	if b.Stage != registry.Reserved {
		return packed(k.Order, k.Base)
	}
	fit.Done(k.Job, m, b, fit.HouseOf(*w.Fit, *w.Belt))
	if registry.EndsPass(k.Skill) {
		if m.TakesMains() {
			m.PauseSafety()
		}
		// whoever worked on the head does not test it, where the house says so
		if err := tx.Put(&bench.Work{Tag: m.Tag, At: k.DoneAt, By: k.By, Did: "note", Minutes: k.Spent,
			Note: k.Job + " for " + k.Order}); err != nil {
			return err
		}
	}
	if err := tx.Put(m); err != nil {
		return err
	}
	return tx.Put(b)
}

// changeMains notes that the machine has the plug, the cord or the volts that its order asks for. Its pass
// was that of what it had before: until a competent person has tested it again, nothing packs it. A test may
// have told of the new one already, and its pass stands.
func (w *Works) changeMains(tx stock.Tx, k *orders.WorkOrder, m *stock.Machine) error {
	if err := w.Competent(k.By, "change what takes the mains"); err != nil {
		return err
	}
	s, err := promise.SetOf(tx, k.Head)
	if err != nil {
		return err
	}
	o, l, err := orders.OpenLine(tx, k.Order, s.Line)
	if err != nil || len(k.Parts) == 0 {
		return err
	}
	change, ok := electrical.Find(w.Orders.Asks(o, l).Work(m.Plate), k.Parts[0])
	if !ok {
		return nil
	}
	m.MoveMains(mains.Fitted, change.Moves)
	m.Plate = change.Done(m.Plate)
	if err := tx.Put(&bench.Work{Tag: m.Tag, At: k.DoneAt, By: k.By, Did: "note", Minutes: k.Spent,
		Note: k.Job + " for " + k.Order, Electrical: true}); err != nil {
		return err
	}
	return tx.Put(m)
}

func packed(order string, tag registry.Tag) error {
	return registry.Errorf(registry.Conflict, "%s is packed: take it out of its crate first",
		tag).Then(registry.Next(registry.DoUnpack, tag).Of(order))
}
