package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// inTurns logs a machine in each turn, and calls between before each but the first.
func inTurns(w *house.Workshop, between func(turn int, tx stock.Tx) error) error {
	turn := 0
	return w.ActInTurns(ctx, "QX", "import", "list.csv", func(tx stock.Tx) (bool, error) {
		if turn++; turn > 1 {
			if err := between(turn, tx); err != nil {
				return false, err
			}
		}
		return turn == 4, w.Intake.Enter(tx, registrytest.Machine(fmt.Sprint("K", turn)))
	})
}

// A turn makes records and changes none, since what it did to them could not be hidden.
func TestATurnChangesNothingThatIsThere(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	tag := registrytest.Put(t, w, registry.Hand, func(*stock.Machine) {})
	err := inTurns(w, func(_ int, tx stock.Tx) error {
		m, err := stock.MachineByTag(tx, tag)
		require.NoError(t, err)
		m.Note = "met on the way"
		return tx.Put(m)
	})
	require.ErrorContains(t, err, "did not make")
	registrytest.VerifiesClean(t, w)
}

// One comes in at a time; nothing else waits for its end.
func TestOneComesInAtATime(t *testing.T) {
	w, _, path := registrytest.Open(t)
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	other := house.NewWorkshop(db, w.Config, w.Lists, nil, w.Now)
	refused := 0
	require.NoError(t, inTurns(w, func(int, stock.Tx) error {
		err := inTurns(other, func(int, stock.Tx) error { return nil })
		assert.ErrorContains(t, err, "import of list.csv by QX is still coming in")
		refused++
		back, err := db.TakeBack(ctx, w.Now())
		assert.NoError(t, err)
		assert.Nil(t, back, "the program is still at it")
		return nil
	}))
	assert.Equal(t, 3, refused)
	require.NoError(t, inTurns(other, func(int, stock.Tx) error { return nil }))
	registrytest.VerifiesClean(t, w)
}

// What stands where it is told that a list comes in is named, and what to do about it.
func TestWhatStandsWhereTheLockWouldIsNamed(t *testing.T) {
	w, _, path := registrytest.Open(t)
	require.NoError(t, os.Mkdir(path+"-turns", 0o700))
	err := inTurns(w, func(int, stock.Tx) error { return nil })
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	assert.ErrorContains(t, err, "pitman.db-turns, which tells others of a long list that comes in, cannot be opened")
	assert.NotContains(t, err.Error(), filepath.Dir(path))
}

// What is hidden and what has come in is told by the chain: whoever shows the one, or hides the other, behind
// pitman's back is noticed.
func TestHidingBehindThePitmansBackIsNoticed(t *testing.T) {
	for name, c := range map[string]struct {
		in   int  // the turn in which it is done; 0 when all has come in
		open bool // something seems to have no end then
		sql  string
	}{
		"shown before its time":   {3, false, "UPDATE machine SET struck = 0 WHERE id = 1"},
		"hidden afterwards":       {0, false, "UPDATE machine SET struck = 1 WHERE id = 1"},
		"an end that is made up":  {3, false, "INSERT INTO link VALUES (900, 1, 9, 'turns ended 1', 'x')"},
		"a beginning made up":     {0, true, "INSERT INTO link VALUES (900, 1, 9, 'turns begun 1', 'x')"},
		"an end that was not one": {0, true, "UPDATE link SET note = '' WHERE note LIKE 'turns ended%'"},
	} {
		t.Run(name, func(t *testing.T) {
			w, db, path := registrytest.Open(t)
			stop := errors.New("stop")
			spoil := func() {
				raw := registrytest.Raw(t, path)
				_, err := raw.Exec("DROP TRIGGER IF EXISTS link_stays; " + c.sql)
				require.NoError(t, err)
				require.NoError(t, raw.Close())
			}
			// as a program that is killed leaves it: it neither goes on nor takes back
			killed := false
			func() {
				defer func() { killed = recover() != nil }()
				_ = inTurns(w, func(turn int, _ stock.Tx) error {
					if turn == c.in {
						panic(stop)
					}
					return nil
				})
			}()
			require.Equal(t, c.in != 0, killed)
			clean, err := db.Verify(context.Background(), "PM", nil)
			require.NoError(t, err)
			require.Empty(t, clean)
			spoil()
			faults, err := db.Verify(context.Background(), "PM", nil)
			require.NoError(t, err)
			told := ""
			for _, f := range faults {
				if f.Check == "history" || f.Check == "chain" {
					told += f.What
				}
			}
			assert.NotEmpty(t, told)
			before := registrytest.Count(t, db)
			back, err := db.TakeBack(ctx, w.Now())
			assert.Nil(t, back)
			if c.open {
				assert.Error(t, err, "what is told by a chain that was changed is not acted upon")
			}
			assert.Equal(t, before, registrytest.Count(t, db))
		})
	}
}

// A chain that was changed far before its end is not believed either: a quick look does not come so far.
func TestNothingIsTakenBackByAChangedChain(t *testing.T) {
	w, db, path := registrytest.Open(t)
	require.NoError(t, inTurns(w, func(int, stock.Tx) error { return nil }))
	require.NoError(t, db.Batch(ctx, func(s stock.Store) error { // a link of many changes
		other := house.NewWorkshop(s, w.Config, w.Lists, w.Intake.Tables, w.Now)
		for range 6000 {
			m := &stock.Machine{Maker: "Arden", Serial: stock.NoSerial, Drive: registry.Hand}
			if err := other.Log(ctx, "QX", m, false); err != nil {
				return err
			}
		}
		return nil
	}))
	raw := registrytest.Raw(t, path)
	var trigger string
	require.NoError(t, raw.QueryRow("SELECT sql FROM sqlite_schema WHERE name = 'link_stays'").Scan(&trigger))
	_, err := raw.Exec("DROP TRIGGER link_stays; UPDATE link SET note = '' WHERE note LIKE 'turns ended%'; " +
		trigger)
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	_, err = db.TakeBack(ctx, w.Now())
	assert.ErrorContains(t, err, "cannot be taken back")
	assert.Equal(t, 6004, registrytest.Count(t, db))
}
