package shipments_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/reports"
	"pitman/registry/shipments"
	"pitman/registry/stock"
)

// walk does at random what people do with orders, in any order, and counts what the house let it do.
type walk struct {
	*house.Workshop
	t         *testing.T
	dice      *rand.Rand
	now       time.Time
	heads     []registry.Tag
	bases     []registry.Tag
	orders    []string
	shipments []string
	let       map[string]int
}

func newWalk(t *testing.T, seed uint64) *walk {
	s := &walk{Workshop: registrytest.Workshop(t), t: t, dice: rand.New(rand.NewPCG(seed, 14)),
		now: time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC), let: map[string]int{}}
	s.Lists.Spares.Kits = nil // what goes into a kit has tests of its own
	s.Stock.Now = func() time.Time { return s.now }
	groove := []stock.Answer{stock.Yes, stock.No}
	for i := range 10 {
		drive := registry.Treadle
		if i%5 == 4 {
			drive = registry.Hand
		}
		s.heads = append(s.heads, registrytest.Put(t, s.Workshop, drive, func(m *stock.Machine) {
			m.Stage = registry.Check
			m.Head = stock.Head{BedLength: 371 * registrytest.Mm, BedWidth: 178 * registrytest.Mm,
				Pins: 241 * registrytest.Mm, Wheel: 70 * registrytest.Mm, Groove: groove[i%2]}
			if i%3 > 0 {
				m.Weight = measure.Mass(11+i) * measure.Kilogram
			}
		}))
		_, _, err := s.Test(registrytest.Ctx, "RS", s.heads[i], bench.TestForm{PassAll: true})
		require.NoError(t, err)
	}
	for i := range 7 {
		s.bases = append(s.bases, registrytest.PutBase(t, s.Workshop, func(b *stock.Base) {
			b.Stage, b.Top, b.Flywheel, b.Weight = registry.Ready, stock.TopFixed, 305*registrytest.Mm,
				measure.Mass(20+i)*measure.Kilogram
			b.OpeningLength, b.OpeningWidth = 374*registrytest.Mm, 181*registrytest.Mm
			if i%3 == 2 { // a head goes in with work
				b.Top, b.OpeningLength = stock.TopReplaceable, 300*registrytest.Mm
			}
		}))
	}
	return s
}

func one[T any](s *walk, list []T) (got T) {
	if len(list) > 0 {
		got = list[s.dice.IntN(len(list))]
	}
	return got
}

// who is somebody; tests ask for another than who did the work.
func (s *walk) who() registry.Initials { return one(s, []registry.Initials{"QX", "RS"}) }

// setsOf reads the places of an order.
func (s *walk) setsOf(number string) (sets []promise.OrderSet) {
	require.NoError(s.t, s.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
		sets, err = promise.OrderSets(r, number)
		return err
	}))
	return sets
}

// way is a thing that people do.
type way struct {
	name string
	do   func() error
}

// do does one thing; that it is refused is no fault, so long as nothing of it is kept.
func (s *walk) do() {
	s.now = s.now.Add(time.Duration(1+s.dice.IntN(90)) * time.Minute)
	ctx, by, order, ship := registrytest.Ctx, s.who(), one(s, s.orders), one(s, s.shipments)
	ways := []way{
		{"open", func() error {
			o := &orders.Order{Partner: fmt.Sprintf("centre %d", s.dice.IntN(3)), Due: "2031-09-01",
				Priority: s.dice.IntN(3), Supply: "230V/50Hz/G"}
			if len(s.orders) > 6 {
				return nil
			}
			if err := s.OpenOrder(ctx, by, o); err != nil {
				return err
			}
			s.orders = append(s.orders, o.Number)
			return s.AddLine(ctx, by, &orders.OrderLine{Order: o.Number, Asked: 1 + s.dice.IntN(3),
				Wanted: one(s, []orders.Wanted{orders.TreadleSet, orders.TreadleSet, orders.HandMachine})})
		}},
		{"match", func() error {
			p, err := s.Propose(ctx, nil)
			if err != nil || len(p.Reservations) == 0 {
				return err
			}
			return s.Reserve(ctx, by, "", p.Reservations)
		}},
		{"hold", func() error { _, err := s.Hold(ctx, by, one(s, s.heads), "cracked"); return err }},
		{"hold a base",
			func() error { _, err := s.HoldBase(ctx, by, one(s, s.bases), "cracked"); return err }},
		{"let go", func() error { _, err := s.Stock.Release(ctx, by, one(s, s.heads), ""); return err }},
		{"let a base go", func() error { _, err := s.ReleaseBase(ctx, by, one(s, s.bases), ""); return err }},
		{"test", func() error {
			form := bench.TestForm{PassAll: true}
			if s.dice.IntN(4) == 0 {
				form.Fail = map[string]string{"tension": "loops below"}
			}
			_, _, err := s.Test(ctx, by, one(s, s.heads), form)
			return err
		}},
		{"mend", func() error {
			tag := one(s, s.heads)
			if _, err := s.BenchStart(ctx, by, tag, bench.WorkNote{}); err != nil {
				return err
			}
			_, err := s.BenchFinish(ctx, by, tag, bench.WorkNote{Jobs: []string{"oil"}})
			return err
		}},
		{"give back", func() error {
			var tags []registry.Tag
			if set := one(s, s.setsOf(order)); set.Head != "" && s.dice.IntN(2) == 0 {
				tags = []registry.Tag{set.Head}
			}
			_, err := s.ReleaseSets(ctx, by, order, "", tags)
			return err
		}},
		{"swap", func() error {
			set := one(s, s.setsOf(order))
			_, err := s.Swap(ctx, by, one(s, set.Tags()), "", one(s, []string{"", "cracked"}))
			return err
		}},
		{"work", func() error {
			list, err := s.ListWork(ctx, "")
			if err != nil || len(list) == 0 {
				return err
			}
			k := one(s, list)
			_, err = s.WorkIsDone(ctx, by, k.Order, k.ID, s.dice.IntN(90))
			return err
		}},
		{"pack", func() error {
			var tags []registry.Tag
			for _, set := range s.setsOf(order) {
				if set.ShippedAt.IsZero() && s.dice.IntN(4) > 0 {
					tags = append(tags, set.Tags()[:1+s.dice.IntN(len(set.Tags()))]...)
				}
			}
			_, err := s.Pack(ctx, by, order, tags, "")
			return err
		}},
		{"pack", func() error {
			var tags []registry.Tag
			for _, set := range s.setsOf(order) {
				if set.ShippedAt.IsZero() {
					tags = append(tags, set.Tags()...)
				}
			}
			_, err := s.Pack(ctx, by, order, tags, "")
			return err
		}},
		{"unpack", func() error {
			set := one(s, s.setsOf(order))
			if s.dice.IntN(4) > 0 {
				return nil
			}
			_, err := s.Unpack(ctx, by, order, "", set.Tags())
			return err
		}},
		{"ship", func() error {
			how := one(s, []packing.Delivery{{}, {Part: true}, {Part: true}, {CloseShort: "enough"}})
			if s.dice.IntN(3) > 0 || how.CloseShort != "" && s.dice.IntN(4) > 0 {
				return nil
			}
			_, _, err := s.ShipOrder(ctx, by, order, how)
			return err
		}},
		{"begin", func() error {
			if len(s.shipments) > 3 {
				return nil
			}
			sh := &shipments.Shipment{Container: "20"}
			if err := s.NewShipment(ctx, by, sh); err != nil {
				return err
			}
			s.shipments = append(s.shipments, sh.ID)
			return nil
		}},
		{"load", func() error {
			_, err := s.Load(ctx, by, ship, []string{order}, s.dice.IntN(2) == 0)
			return err
		}},
		{"unload", func() error { _, err := s.Unload(ctx, by, ship, "", []string{order}); return err }},
		{"send", func() error { _, err := s.Send(ctx, by, ship); return err }},
		{"arrive", func() error {
			_, err := s.Arrive(ctx, by, ship, shipments.Arrival{Receipt: "signed"})
			return err
		}},
		{"cancel", func() error {
			if s.dice.IntN(40) > 0 {
				return nil
			}
			_, err := s.CancelOrder(ctx, by, order, "")
			return err
		}},
		{"undo", func() error {
			_, err := s.UndoOn(ctx, by, registry.Tag(one(s, append(s.shipments, s.orders...))))
			s.forget()
			return err
		}},
	}
	next := one(s, ways)
	if often := one(s, []string{"", "pack", "load", "send"}); often != "" && s.dice.IntN(2) == 0 {
		next = ways[slices.IndexFunc(ways, func(w way) bool { return w.name == often })]
	}
	if next.name != "open" && next.name != "match" && order == "" {
		return
	}
	if err := next.do(); err == nil {
		s.let[next.name]++
	} else {
		var refused *registry.Error
		require.ErrorAs(s.t, err, &refused, "%s is neither done nor refused", next.name)
	}
}

// forget strikes what undoing took out of the records.
func (s *walk) forget() {
	require.NoError(s.t, s.Store.View(registrytest.Ctx, func(r stock.Reader) error {
		s.orders, s.shipments = nil, nil
		all, err := orders.All(r, "")
		if err != nil {
			return err
		}
		for _, o := range all {
			s.orders = append(s.orders, o.Number)
		}
		ships, err := shipments.All(r, "")
		for _, sh := range ships {
			s.shipments = append(s.shipments, sh.ID)
		}
		return err
	}))
}

// check holds what must hold after anything.
func (s *walk) check() {
	t, at := s.t, map[registry.Tag]string{}
	require.NoError(t, s.Store.View(registrytest.Ctx, func(r stock.Reader) error {
		all, err := orders.All(r, "")
		require.NoError(t, err)
		for _, o := range all {
			sets, err := promise.OrderSets(r, o.Number)
			require.NoError(t, err)
			for _, set := range sets {
				for _, tag := range set.Tags() {
					require.Empty(t, at[tag], "%s is promised twice", tag)
					at[tag] = o.Number
					u, err := stock.UnitByTag(r, tag)
					require.NoError(t, err)
					gone := !set.ShippedAt.IsZero()
					require.Equal(t, gone, u.Stage == registry.Shipped, "%s of %s", tag, o.Number)
					if gone {
						require.False(t, set.PackedAt.IsZero(), "%s left unpacked", tag)
					}
				}
				if set.Shipment != "" {
					sh, err := shipments.ByNumber(r, set.Shipment)
					require.NoError(t, err)
					require.Equal(t, sh.State == shipments.Open, set.ShippedAt.IsZero(), "%s on %s", set.Head,
						sh.ID)
				}
				works, err := orders.WorkOf(r, o.Number, []promise.OrderSet{set})
				require.NoError(t, err)
				minutes := 0
				for _, k := range works {
					minutes += k.Minutes
				}
				require.Equal(t, set.Minutes, minutes, "%s of %s", set.Head, o.Number)
			}
		}
		return nil
	}))
	views, err := s.ViewOrders(registrytest.Ctx, "")
	require.NoError(t, err)
	for _, v := range views {
		for _, l := range v.Lines {
			filled := 0
			for _, set := range v.Sets {
				if set.Line == l.Line {
					filled++
				}
			}
			require.Equal(t, filled, l.Filled)
			require.LessOrEqual(t, l.Filled, l.Asked)
			short := l.Filled < l.Asked
			require.False(t, v.State == orders.OrderShipped && v.ShortWhy == "" && short,
				"%s is shipped, and a place of it was never filled", v.Number)
		}
		for _, set := range v.Sets {
			require.False(t, v.State != orders.OrderOpen && set.ShippedAt.IsZero(), "%s is left behind on %s",
				set.Head, v.Number)
		}
	}
	for _, tag := range append(s.heads, s.bases...) {
		if at[tag] != "" {
			continue
		}
		require.NoError(t, s.Store.View(registrytest.Ctx, func(r stock.Reader) error {
			u, err := stock.UnitByTag(r, tag)
			require.NoError(t, err)
			require.NotContains(t, []registry.Stage{registry.Reserved, registry.Packed, registry.Shipped},
				u.Stage,
				"%s is on no order", tag)
			return nil
		}))
	}
}

// addUp holds what the report for a funder says against the records themselves.
func (s *walk) addUp() {
	d, err := s.Delivered(registrytest.Ctx, "", "")
	require.NoError(s.t, err)
	machines, sets, unweighed, net := 0, 0, 0, measure.Mass(0)
	for _, number := range s.orders {
		for _, set := range s.setsOf(number) {
			if set.ShippedAt.IsZero() {
				continue
			}
			if machines++; set.Base != "" {
				sets++
			}
			for _, tag := range set.Tags() {
				require.NoError(s.t, s.Store.View(registrytest.Ctx, func(r stock.Reader) error {
					u, err := stock.UnitByTag(r, tag)
					if net += u.Mass; u.Mass == 0 {
						unweighed++
					}
					return err
				}))
			}
		}
	}
	sum := d.Sum
	require.Equal(s.t, []int{machines, sets, unweighed, machines},
		[]int{sum.Machines, sum.Sets, sum.Unweighed, sum.OnTime + sum.Late})
	require.InDelta(s.t, net.KG(), sum.NetKG, 1e-9)
	for _, groups := range [][]reports.Group{d.ByPartner, d.ByCountry, d.ByDrive, d.ByMonth} {
		n := 0
		for _, g := range groups {
			n += g.Machines
		}
		require.Equal(s.t, machines, n)
	}
}

// Whatever is done in whatever order: no piece is in two places, every place is filled or open, minutes are
// those of its works, and nothing leaves unpacked or with two shipments.
func TestNothingIsPromisedTwice(t *testing.T) {
	seeds, steps, first := 30, 600, uint64(0)
	if os.Getenv("NIGHTLY") == "" {
		seeds, steps, first = 1, 260, 14
	}
	let := map[string]int{}
	for seed := range seeds {
		w := newWalk(t, uint64(seed)+first)
		for range steps {
			w.do()
			w.check()
		}
		w.addUp()
		registrytest.VerifiesClean(t, w.Workshop)
		for name, n := range w.let {
			let[name] += n
		}
	}
	for _, name := range []string{"match", "hold", "give back", "swap", "work", "pack", "ship", "load",
		"send", "arrive"} {
		assert.NotZero(t, let[name], "%s was never let: %v", name, let)
	}
}
