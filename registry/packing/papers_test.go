package packing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Crates are built for what is on an order; only while nothing is, for what it asks for.
func TestCratesFollowWhatIsFilled(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	registrytest.InHand(t, w, registrytest.TreadleHead(241*registrytest.Mm),
		registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm),
		registrytest.TreadleBase(241*registrytest.Mm))
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 5},
		orders.OrderLine{Wanted: orders.HandMachine, Asked: 3})
	built := func() map[orders.Wanted]int {
		plan, err := w.PlanCrates(registrytest.Ctx, number)
		require.NoError(t, err)
		counts := map[orders.Wanted]int{}
		for _, c := range plan.Crates {
			counts[c.For] = c.Count
		}
		return counts
	}
	assert.Equal(t, map[orders.Wanted]int{orders.TreadleSet: 5, orders.HandMachine: 3}, built())
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	assert.Equal(t, map[orders.Wanted]int{orders.TreadleSet: 2}, built())
}

// A head that was held while it was promised is in no crate, whatever became of its base.
func TestWhatIsHeldIsNotPacked(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, h, b)
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0)
	require.NoError(t,
		w.Store.Update(registrytest.Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "match"},
			func(tx stock.Tx) error {
				h.Stage, h.HeldFrom, h.HeldWhy, b.Stage = registry.Held, registry.Reserved, "cord cut",
					registry.Packed
				for _, rec := range []registry.Record{h, b,
					&promise.OrderSet{Order: number, Line: 1, Head: h.Tag, Base: b.Tag, Stands: true}} {
					if err := tx.Put(rec); err != nil {
						return err
					}
				}
				return nil
			}))
	list, err := w.ListPacking(registrytest.Ctx, number, "")
	require.NoError(t, err)
	require.Len(t, list.Items, 2)
	assert.False(t, list.Items[0].Packed)
	assert.True(t, list.Items[1].Packed)
}

// A measure that was corrected after the promise is found at the crate.
func TestPackCheckFitsOnceMore(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, h, b)
	number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
	_, err := w.AmendBase(registrytest.Ctx, "RS", b.Tag, "",
		func(b *stock.Base) error { b.Pins = 300 * registrytest.Mm; return nil })
	require.NoError(t, err)
	for _, tag := range []registry.Tag{h.Tag, b.Tag} {
		_, err = w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{tag}, "")
		assert.ErrorContains(t, err, "does not fit "+string(b.Tag)+
			" by what is measured now: pin centres: head 241 mm, base 300 mm")
	}
	_, err = w.AmendBase(registrytest.Ctx, "RS", b.Tag, "",
		func(b *stock.Base) error { b.Pins = 241 * registrytest.Mm; return nil })
	require.NoError(t, err)
	p, err := w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{h.Tag, b.Tag}, "")
	require.NoError(t, err)
	assert.True(t, p.Done)
}

// A nameplate that was corrected after the promise is held against the supply at the crate.
func TestPackAsksForTheSupplyOnceMore(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	m := registrytest.TreadleHead(0)
	m.Drive, m.SafetyAt, m.SafetyBy, m.Class = registry.Electric, w.Now(), "QX", "II"
	m.Plate = electrical.Nameplate{Motor: "brush", Plug: "G", Volts: measure.Rating{{Low: 230, High: 230}}}
	registrytest.InHand(t, w, m)
	number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.ElectricOne, Asked: 1})
	require.NoError(t,
		w.Store.Update(registrytest.Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "safety"},
			func(tx stock.Tx) error {
				now, err := stock.MachineByTag(tx, m.Tag)
				if err != nil {
					return err
				}
				now.Plate.Volts = measure.Rating{{Low: 120, High: 120}}
				return tx.Put(now)
			}))
	_, err := w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{m.Tag}, "")
	assert.ErrorContains(t, err, "does not suit the supply 230V/50Hz/G of order "+number+": nameplate 120 V")
}

// A part that the machine itself lacks cannot be put beside it: whoever stands at the crate is told the way
// that there is.
func TestPackNamesTheWayToAMissingPart(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	w.Lists.Spares.Kits = func() ([]spares.KitRow, error) {
		return []spares.KitRow{{Part: "shuttle-boat", Quantity: 1}}, nil
	}
	w.Lists.Spares.Parts = func() ([]spares.PartKind, error) {
		return []spares.PartKind{{Part: "shuttle-boat", What: "Boat shuttle"}}, nil
	}
	h := registrytest.TreadleHead(0)
	h.Drive = registry.Hand
	registrytest.InHand(t, w, h)
	registrytest.InHand(t, w, &spares.Need{Tag: h.Tag, Part: "shuttle-boat", Since: w.Now()})
	number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.HandMachine, Asked: 1})
	_, err := w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{h.Tag}, "")
	assert.ErrorContains(t, err,
		"lacks a part of its own, shuttle-boat: nothing was packed; take it off the order, and fit one on "+
			"the bench")
}

// The customs read a sum of declared values as that of all that is in the crates: it says of how many it is
// not, and a paper that was issued before keeps its words.
func TestASumOfDeclaredValuesSaysWhatItLeavesOut(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	hand := func() *stock.Machine {
		m := registrytest.TreadleHead(0)
		m.Drive = registry.Hand
		return m
	}
	registrytest.InHand(t, w, registrytest.TreadleHead(241*registrytest.Mm), hand(), hand(),
		registrytest.TreadleBase(241*registrytest.Mm))
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1},
		orders.OrderLine{Wanted: orders.HandMachine, Asked: 2})
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	for declared, without := range map[orders.Wanted]int{orders.TreadleSet: 2, orders.HandMachine: 1} {
		w.Packing.Orders.Config.Declared = map[orders.Wanted]float64{declared: 40}
		list, err := w.ListPacking(registrytest.Ctx, number, "")
		require.NoError(t, err)
		assert.Equal(t, []float64{float64(40 * (3 - without)), float64(without)},
			[]float64{list.Value, float64(list.NoValue)}, declared)
	}
}
