package packing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// What shares the place of a piece that can go no longer is in stock at once, and may lie in its crate: the
// order and whoever looks at the piece are told to open it, and nobody is where there is none.
func TestACrateIsOpenedWhenItsPlaceIsFreed(t *testing.T) {
	hold := func(w *house.Workshop, tag registry.Tag) error {
		_, err := w.Hold(registrytest.Ctx, "RS", tag, "cracked; it was dropped")
		return err
	}
	holdBase := func(w *house.Workshop, tag registry.Tag) error {
		_, err := w.HoldBase(registrytest.Ctx, "RS", tag, "cracked; it was dropped")
		return err
	}
	fail := func(w *house.Workshop, tag registry.Tag) error {
		_, _, err := w.Test(registrytest.Ctx, "RS", tag,
			bench.TestForm{PassAll: true, Fail: map[string]string{"tension": "loops below"}})
		return err
	}
	for name, c := range map[string]struct {
		goes, packed int // 0 is the head, 1 the base, 2 neither
		do           func(*house.Workshop, registry.Tag) error
	}{
		"the base is held, its head packed": {1, 0, holdBase},
		"the head is held, its base packed": {0, 1, hold},
		"the head fails, its base packed":   {0, 1, fail},
		"the base is held, nothing packed":  {1, 2, holdBase},
	} {
		w := registrytest.OrderWorkshop(t)
		w.Lists.Bench.Points = func() ([]bench.TestPoint, error) {
			return []bench.TestPoint{{Point: "tension", Ask: "Does it hold?",
				Drives: registry.DriveSet{registry.Treadle}}}, nil
		}
		h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
		h.TestedAt, h.TestedBy = w.Now(), "RS"
		registrytest.InHand(t, w, h, b)
		number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
		tags, open := []registry.Tag{h.Tag, b.Tag, ""}, ""
		if other := tags[c.packed]; other != "" {
			_, err := w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{other}, "")
			require.NoError(t, err, name)
			open = string(other) + " was packed, so take it out of its crate"
		}
		require.NoError(t, c.do(w, tags[c.goes]), name)

		var lost []promise.OrderSet
		require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
			lost, err = promise.LostSets(r, number)
			return err
		}), name)
		require.Len(t, lost, 1, name)
		assert.Equal(t, open, lost[0].CrateToOpen(), name)
		m, err := w.Machine(registrytest.Ctx, h.Tag)
		require.NoError(t, err, name)
		now, err := w.Base(registrytest.Ctx, b.Tag)
		require.NoError(t, err, name)
		at := []registry.Stage{m.Stage, now.Stage}
		assert.Equal(t, registry.Ready, at[1-c.goes], "%s: what shared its place is in stock", name)
		assert.Equal(t, open, w.CrateToOpen(registrytest.Ctx, tags[c.goes],
			[]time.Time{m.StageSince, now.Since}[c.goes]), name)
	}
}
