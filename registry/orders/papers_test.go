package orders_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
)

// Crates are built for what is on an order; only while nothing is, for what it asks for.
func TestCratesFollowWhatIsFilled(t *testing.T) {
	w := workshop(t)
	stock(t, w, head(241*mm), head(241*mm), base(241*mm), base(241*mm))
	number := order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 5}, registry.OrderLine{Wanted: registry.HandMachine, Asked: 3})
	built := func() map[registry.Wanted]int {
		plan, err := orders.PlanCrates(ctx, w, number)
		require.NoError(t, err)
		counts := map[registry.Wanted]int{}
		for _, c := range plan.Crates {
			counts[c.For] = c.Count
		}
		return counts
	}
	assert.Equal(t, map[registry.Wanted]int{registry.TreadleSet: 5, registry.HandMachine: 3}, built())
	p, err := orders.Propose(ctx, w, nil)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(ctx, "QX", "", p.Reservations))
	assert.Equal(t, map[registry.Wanted]int{registry.TreadleSet: 2}, built())
}

// A head that was held while it was promised is in no crate, whatever became of its base.
func TestWhatIsHeldIsNotPacked(t *testing.T) {
	w := workshop(t)
	h, b := head(241*mm), base(241*mm)
	stock(t, w, h, b)
	number := order(t, w, "2032-03-01", 0)
	require.NoError(t, w.Store.Update(ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "match"}, func(tx registry.Tx) error {
		h.Stage, h.HeldFrom, h.HeldWhy, b.Stage = registry.Held, registry.Reserved, "cord cut", registry.Packed
		for _, rec := range []registry.Record{h, b, &registry.OrderSet{Order: number, Line: 1, Head: h.Tag, Base: b.Tag, Stands: true}} {
			if err := tx.Put(rec); err != nil {
				return err
			}
		}
		return nil
	}))
	list, err := orders.ListPacking(ctx, w, number)
	require.NoError(t, err)
	require.Len(t, list.Items, 2)
	assert.False(t, list.Items[0].Packed)
	assert.True(t, list.Items[1].Packed)
}

// A measure that was corrected after the promise is found at the crate.
func TestPackCheckFitsOnceMore(t *testing.T) {
	w := workshop(t)
	h, b := head(241*mm), base(241*mm)
	stock(t, w, h, b)
	number := confirmed(t, w, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 1})
	_, err := w.AmendBase(ctx, "RS", b.Tag, "", func(b *registry.Base) error { b.Pins = 300 * mm; return nil })
	require.NoError(t, err)
	for _, tag := range []registry.Tag{h.Tag, b.Tag} {
		_, err = w.Pack(ctx, "QX", number, []registry.Tag{tag}, "", orders.PackCheck(w))
		assert.ErrorContains(t, err, "does not fit "+string(b.Tag)+" by what is measured now: pin centres: head 241 mm, base 300 mm")
	}
	_, err = w.AmendBase(ctx, "RS", b.Tag, "", func(b *registry.Base) error { b.Pins = 241 * mm; return nil })
	require.NoError(t, err)
	p, err := w.Pack(ctx, "QX", number, []registry.Tag{h.Tag, b.Tag}, "", orders.PackCheck(w))
	require.NoError(t, err)
	assert.True(t, p.Done)
}

// A nameplate that was corrected after the promise is held against the supply at the crate.
func TestPackAsksForTheSupplyOnceMore(t *testing.T) {
	w := workshop(t)
	m := head(0)
	m.Drive, m.SafetyAt, m.SafetyBy, m.Class = registry.Electric, w.Now(), "QX", "II"
	m.Plate = registry.Nameplate{Motor: "brush", Plug: "G", Volts: registry.Rating{{Low: 230, High: 230}}}
	stock(t, w, m)
	number := confirmed(t, w, registry.OrderLine{Wanted: registry.ElectricOne, Asked: 1})
	require.NoError(t, w.Store.Update(ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "safety"}, func(tx registry.Tx) error {
		now, err := registry.MachineByTag(tx, m.Tag)
		if err != nil {
			return err
		}
		now.Plate.Volts = registry.Rating{{Low: 120, High: 120}}
		return tx.Put(now)
	}))
	_, err := w.Pack(ctx, "QX", number, []registry.Tag{m.Tag}, "", orders.PackCheck(w))
	assert.ErrorContains(t, err, "does not suit the supply 230V/50Hz/G of order "+number+": nameplate 120 V")
}

// A part that the machine itself lacks cannot be put beside it: whoever stands at the crate is told the way that there is.
func TestPackNamesTheWayToAMissingPart(t *testing.T) {
	w := workshop(t)
	w.Lists.Kits = func() ([]registry.KitRow, error) { return []registry.KitRow{{Part: "shuttle-boat", Quantity: 1}}, nil }
	w.Lists.Parts = func() ([]registry.PartKind, error) {
		return []registry.PartKind{{Part: "shuttle-boat", What: "Boat shuttle"}}, nil
	}
	h := head(0)
	h.Drive = registry.Hand
	stock(t, w, h)
	stock(t, w, &registry.Need{Tag: h.Tag, Part: "shuttle-boat", Since: w.Now()})
	number := confirmed(t, w, registry.OrderLine{Wanted: registry.HandMachine, Asked: 1})
	_, err := w.Pack(ctx, "QX", number, []registry.Tag{h.Tag}, "", orders.PackCheck(w))
	assert.ErrorContains(t, err, "lacks a part of its own, shuttle-boat: take it off the order with pitman order release "+number+" "+string(h.Tag)+
		", and on the bench fit one with pitman spare fit "+string(h.Tag)+" shuttle-boat; nothing was packed")
}
