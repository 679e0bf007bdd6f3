package undo_test

import (
	"fmt"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// Two programs that act on one electric at once leave it no further than its tests stand, whichever comes
// first, and a registry in which verify finds no fault.
func TestTwoAtOnceOnOneElectric(t *testing.T) {
	rounds := 2
	if os.Getenv("NIGHTLY") != "" {
		rounds = 200
	}
	type act = func(*house.Workshop, registry.Tag, string) error
	safety := func(w *house.Workshop, tag registry.Tag, _ string) error {
		_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
		return err
	}
	start := func(w *house.Workshop, tag registry.Tag, _ string) error {
		_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
		return err
	}
	failed := func(w *house.Workshop, tag registry.Tag, _ string) error {
		_, _, err := w.Test(registrytest.Ctx, "RS", tag,
			bench.TestForm{PassAll: true, Fail: map[string]string{"motor": "sparks"}, Danger: true})
		return err
	}
	back := func(w *house.Workshop, tag registry.Tag, _ string) error {
		_, err := w.UndoOn(registrytest.Ctx, "EL", tag)
		return err
	}
	for name, c := range map[string]struct {
		at       registry.Stage // ready, or promised to an order, or in its crate
		one, two act
	}{
		"safety beside bench start": {registry.Ready, safety, start},
		"convert beside safety": {registry.Check, func(w *house.Workshop, tag registry.Tag, _ string) error {
			_, err := w.Convert(registrytest.Ctx, "EL", tag,
				spares.Conversion{To: registry.Hand, Off: mains.Kinds})
			return err
		}, safety},
		"shipping beside a failed safety test": {registry.Packed,
			func(w *house.Workshop, _ registry.Tag, order string) error {
				_, _, err := w.ShipOrder(registrytest.Ctx, "QX", order, packing.Delivery{})
				return err
			}, func(w *house.Workshop, tag registry.Tag, _ string) error {
				_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
				return err
			}},
		"packing beside a failed test": {registry.Reserved,
			func(w *house.Workshop, tag registry.Tag, order string) error {
				_, err := w.Pack(registrytest.Ctx, "QX", order, []registry.Tag{tag}, "")
				return err
			}, failed},
		"undo beside a failed test": {registry.Ready, back, failed},
		"undo beside a safety test": {registry.Ready, back, safety},
		"a look beside a failed test": {registry.Check,
			func(w *house.Workshop, tag registry.Tag, _ string) error {
				form := registrytest.FailedSafety()
				form.Class, form.Visual = "", "pass"
				_, _, err := w.LookAlone(registrytest.Ctx, "EL", tag, form)
				return err
			}, failed},
	} {
		t.Run(name, func(t *testing.T) {
			w, path := registrytest.WorkshopAt(t)
			w.Spares.Lists.Kits = nil
			w.Config.Safety.VisualRevives = true
			db, err := sqlite.Open(path)
			require.NoError(t, err)
			t.Cleanup(func() { require.NoError(t, db.Close()) })
			var clock sync.Mutex
			minutes := w.Now
			w.Now = func() time.Time {
				clock.Lock()
				defer clock.Unlock()
				return minutes()
			}
			other := house.NewWorkshop(db, w.Config, w.Lists, nil, w.Now)
			for i := range rounds {
				tag, order := electricAt(t, w, c.at)
				var both sync.WaitGroup
				var wrong [2]error
				both.Go(func() { wrong[i%2] = c.one(w, tag, order) })
				both.Go(func() { wrong[1-i%2] = c.two(other, tag, order) })
				both.Wait()
				for _, err := range wrong {
					require.True(t, err == nil || registry.CodeOf(err) != "", err)
				}
				m, err := w.Machine(registrytest.Ctx, tag)
				require.NoError(t, err)
				if w.LacksSafetyPass(m) {
					assert.False(t, slices.Contains([]registry.Stage{registry.Ready, registry.Reserved,
						registry.Packed, registry.Shipped}, m.Stage), fmt.Sprint(m.Stage, wrong))
				}
				assert.False(t, m.TakesMains() && m.UnsafeWhy != "" && m.Stage != registry.Held, m.Stage)
			}
			registrytest.VerifiesClean(t, w)
		})
	}
}

// electricAt is a tested electric at a stage, with the order that has it, if any; at check it was on the
// bench since.
func electricAt(t *testing.T, w *house.Workshop, at registry.Stage) (registry.Tag, string) {
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	form := registrytest.GoodSafety()
	form.Plug = "G"
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, form)
	require.NoError(t, err)
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	switch at {
	case registry.Check:
		_, err = w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = w.BenchFinish(registrytest.Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"oil"}})
		require.NoError(t, err)
		return tag, ""
	case registry.Ready:
		return tag, ""
	}
	order := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.ElectricOne, Asked: 1})
	if at == registry.Packed {
		_, err = w.Pack(registrytest.Ctx, "QX", order, []registry.Tag{tag}, "")
		require.NoError(t, err)
	}
	return tag, order
}
