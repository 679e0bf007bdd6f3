package sqlite_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// What is stored behind reads back at once, with the numbers that it would have had, and the next action goes
// on behind them.
func TestWhatIsStoredBehindIsThereForWhoeverReads(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K1"), false))
	err := w.Act(ctx, "QX", "import", "", func(tx stock.Tx) error {
		tx.WriteBehind()
		for _, serial := range []string{"K2", "K3"} {
			if err := w.Intake.Enter(tx, registrytest.Machine(serial)); err != nil {
				return err
			}
		}
		n, err := tx.Count(stock.MachineFilter{})
		assert.Equal(t, 3, n)
		return err
	})
	require.NoError(t, err)
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K4"), false))
	require.NoError(t, db.View(ctx, func(r stock.Reader) error {
		for n, serial := range []string{"K1", "K2", "K3", "K4"} {
			m, err := stock.MachineByTag(r, registry.NewTag("PM", int64(n+1)))
			require.NoError(t, err)
			assert.Equal(t, serial, m.Serial)
			assert.Equal(t, int64(n+1), m.ID)
		}
		n, err := r.Count(stock.MachineFilter{Text: "k3"})
		assert.Equal(t, 1, n)
		return err
	}))
	registrytest.VerifiesClean(t, w)
}

// A row that cannot be stored takes the whole action with it, also when nothing is read any more.
func TestWhatCannotBeStoredBehindLeavesNothing(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	err := w.Act(ctx, "QX", "import", "", func(tx stock.Tx) error {
		tx.WriteBehind()
		for range 2 { // a tag is given to one machine only, which SQLite knows by itself
			m := registrytest.Machine("K1")
			if m.Tag = registry.NewTag("PM", 9); tx.Put(m) != nil {
				break // told already
			}
		}
		return nil
	})
	require.ErrorContains(t, err, "UNIQUE")
	require.NoError(t, db.View(ctx, func(r stock.Reader) error {
		n, err := r.Count(stock.MachineFilter{})
		assert.Zero(t, n)
		return err
	}))
}
