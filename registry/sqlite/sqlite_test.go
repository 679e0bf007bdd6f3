package sqlite_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

var ctx = context.Background()

func TestAMachineComesBackAsItWasStored(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	m := registrytest.Machine("K1")
	require.NoError(t, w.Log(ctx, "QX", m, false))
	got, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.Equal(t, m, got)
	assert.Equal(t, registry.NewTag("PM", 1), got.Tag)
}

func TestHistoryTellsWhatChanged(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	m := registrytest.Machine("K1")
	require.NoError(t, w.Log(ctx, "QX", m, false))
	_, err := w.Amend(ctx, "RS", m.Tag, "read with a lamp", func(m *stock.Machine) error {
		m.Serial, m.Place = "K7", "shelf 3"
		return nil
	})
	require.NoError(t, err)
	var events []registry.Event
	require.NoError(t, db.View(ctx, func(r stock.Reader) (err error) {
		events, err = r.History(string(m.Tag))
		return err
	}))
	require.Len(t, events, 2)
	assert.Equal(t, "log", events[0].Action)
	assert.Equal(t, registry.Initials("RS"), events[1].By)
	assert.Equal(t, "read with a lamp", events[1].Why)
	assert.Equal(t, [2]any{"K1", "K7"}, events[1].Changes["serial"])
	assert.Equal(t, [2]any{"", "shelf 3"}, events[1].Changes["place"])
	assert.NotContains(t, events[1].Changes, "maker")
}

func TestAFailedActionLeavesNothing(t *testing.T) {
	w, db, path := registrytest.Open(t)
	stop := errors.New("stop")
	err := db.Update(ctx, &registry.Action{By: "QX", Verb: "log"}, func(tx stock.Tx) error {
		m := registrytest.Machine("K1")
		m.Tag = "X"
		require.NoError(t, tx.Put(m))
		return stop
	})
	require.ErrorIs(t, err, stop)
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K2"), false))
	raw := registrytest.Raw(t, path)
	for table, want := range map[string]int{"machine": 1, "action": 1, "change": 1, "person": 1} {
		var n int
		require.NoError(t, raw.QueryRow("SELECT count(*) FROM "+table).Scan(&n))
		assert.Equal(t, want, n, table)
	}
}

// The pages go on after a request that panicked, so its transaction must not stay open.
func TestAnActionThatPanicsLeavesNothing(t *testing.T) {
	w, db, path := registrytest.Open(t)
	assert.Panics(t, func() {
		_ = db.Update(ctx, &registry.Action{By: "QX", Verb: "log"}, func(tx stock.Tx) error {
			m := registrytest.Machine("K1")
			m.Tag = "X"
			require.NoError(t, tx.Put(m))
			panic("a slip of the program")
		})
	})
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K2"), false))
	var n int
	require.NoError(t, registrytest.Raw(t, path).QueryRow("SELECT count(*) FROM machine").Scan(&n))
	assert.Equal(t, 1, n)
}

func TestHistoryIsAppendOnlyAndTagsStay(t *testing.T) {
	w, _, path := registrytest.Open(t)
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K1"), false))
	raw := registrytest.Raw(t, path)
	for _, forbidden := range []string{
		"UPDATE action SET by = 'QX'", "DELETE FROM action", "UPDATE change SET fields = '{}'",
		"DELETE FROM change",
		"DELETE FROM machine", "UPDATE machine SET tag = 'PM9'",
	} {
		_, err := raw.Exec(forbidden)
		assert.Error(t, err, forbidden)
	}
}

func TestANewerFileIsRefused(t *testing.T) {
	_, db, path := registrytest.Open(t)
	require.NoError(t, db.Close())
	raw := registrytest.Raw(t, path)
	_, err := raw.Exec("PRAGMA user_version = 4711")
	require.NoError(t, err)
	_, err = sqlite.Open(path)
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	assert.ErrorContains(t, err, "newer pitman (schema 4711")
}

func TestADamagedFileIsNamed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, os.WriteFile(path, []byte("this is no registry, it is a letter to a friend"), 0o600))
	_, err := sqlite.Open(path)
	assert.ErrorContains(t, err, "restore the latest backup")
}

func TestFilters(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	for _, m := range []*stock.Machine{
		{Maker: "Willcox & Gibbs", Serial: "15000", Drive: registry.Hand},
		{Maker: "Willcox & Gibbs", Serial: "296572", Drive: registry.Treadle, Place: "shelf 3"},
		{Maker: "Harrow", Serial: "none", Drive: registry.Hand, Note: "100% rust_free"},
	} {
		require.NoError(t, w.Log(ctx, "QX", m, false))
	}
	for _, c := range []struct {
		name string
		f    stock.MachineFilter
		want []string
	}{
		{"all", stock.MachineFilter{}, []string{"15000", "296572", "none"}},
		{"drive", stock.MachineFilter{Drive: registry.Hand}, []string{"15000", "none"}},
		{"maker in any spelling", stock.MachineFilter{Maker: "willcox and gibbs"},
			[]string{"15000", "296572"}},
		{"made in 1858", stock.MachineFilter{MadeFrom: 1858, MadeTo: 1858}, []string{"15000"}},
		{"open end", stock.MachineFilter{MadeFrom: 1900}, []string{"296572"}},
		{"text takes % and _ literally", stock.MachineFilter{Text: "0% RUST_"}, []string{"none"}},
		{"place", stock.MachineFilter{Place: "Shelf 3"}, []string{"296572"}},
		{"page", stock.MachineFilter{After: registry.NewTag("PM", 1), Limit: 1}, []string{"296572"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			require.NoError(t, db.View(ctx, func(r stock.Reader) error {
				n, err := r.Count(stock.MachineFilter{Stage: c.f.Stage, Drive: c.f.Drive, Maker: c.f.Maker,
					MadeFrom: c.f.MadeFrom,
					MadeTo:   c.f.MadeTo, Text: c.f.Text, Place: c.f.Place, After: c.f.After})
				require.NoError(t, err)
				assert.GreaterOrEqual(t, n, len(c.want))
				return r.Machines(c.f, func(m *stock.Machine) error {
					got = append(got, m.Serial)
					return nil
				})
			}))
			assert.Equal(t, c.want, got)
		})
	}
}

// What is offered while somebody types comes from what is in the house, each name once whatever its capitals.
func TestNamesAreThoseInTheHouse(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	for i, c := range [][2]string{{"Ostermann", "bay 2"}, {"OSTERMANN", "Bay 2"}, {"Harrow & Finch", ""},
		{"Tamarisk", "attic"}} {
		m := registrytest.Machine("K" + string(rune('1'+i)))
		m.Maker, m.Place = c[0], c[1]
		require.NoError(t, w.Log(ctx, "QX", m, false))
	}
	_, err := w.Undo(ctx, "QX") // Tamarisk, in the attic
	require.NoError(t, err)
	require.NoError(t, db.View(ctx, func(r stock.Reader) error {
		makers, err := r.Names(stock.ColumnMaker, 10)
		require.NoError(t, err)
		assert.Equal(t, []string{"Harrow & Finch", "Ostermann"}, makers)
		places, err := r.Names(stock.ColumnPlace, 10)
		require.NoError(t, err)
		assert.Equal(t, []string{"bay 2"}, places)
		_, err = r.Names(stock.ColumnDonor, 10)
		assert.ErrorContains(t, err, "has no index")
		return nil
	}))
}

// Whoever looks at all records for each of them must come to an end.
func TestOneKindCanBeGoneThroughWhileItIsGoneThrough(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	for _, serial := range []string{"K1", "K2", "K3"} {
		require.NoError(t, w.Log(ctx, "QX", registrytest.Machine(serial), false))
	}
	var pairs []string
	require.NoError(t, db.View(ctx, func(r stock.Reader) error {
		var outer, inner, same stock.Machine
		return r.Each(&outer, func() error {
			return r.Each(&inner, func() error {
				if pairs = append(pairs, outer.Serial+inner.Serial); len(pairs) > 9 {
					return errors.New("it goes round")
				}
				require.NoError(t, r.Get(&same, stock.Fields{"tag": string(inner.Tag)}))
				require.Equal(t, inner.Serial, same.Serial)
				return nil
			})
		})
	}))
	assert.Equal(t, []string{"K1K1", "K1K2", "K1K3", "K2K1", "K2K2", "K2K3", "K3K1", "K3K2", "K3K3"}, pairs)
}
