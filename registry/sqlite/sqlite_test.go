package sqlite_test

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/sqlite"
	"pitman/serials"
)

var ctx = context.Background()

// open makes a registry in a file of its own, with a workshop around it whose clock stands still.
func open(t testing.TB) (*registry.Workshop, *sqlite.DB, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, sqlite.Create(path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return &registry.Workshop{
		Store:  db,
		Config: registry.Defaults(),
		Tables: sync.OnceValues(func() (*serials.Tables, error) { return serials.LoadFS(serials.Starters()) }),
		Now:    func() time.Time { return time.Date(2031, 5, 4, 9, 30, 0, 123456789, time.UTC) },
	}, db, path
}

func machine(serial string) *registry.Machine {
	return &registry.Machine{Maker: "Harrow & Finch", Serial: serial, Drive: registry.Hand, Patents: []string{"D1234"}, Seen: []int{1931}}
}

func TestAMachineComesBackAsItWasStored(t *testing.T) {
	w, _, _ := open(t)
	m := machine("K1")
	require.NoError(t, w.Log(ctx, "QX", m, false))
	got, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.Equal(t, m, got)
	assert.Equal(t, registry.NewTag("PM", 1), got.Tag)
}

func TestHistoryTellsWhatChanged(t *testing.T) {
	w, db, _ := open(t)
	m := machine("K1")
	require.NoError(t, w.Log(ctx, "QX", m, false))
	_, err := w.Amend(ctx, "RS", m.Tag, "read with a lamp", func(m *registry.Machine) error {
		m.Serial, m.Place = "K7", "shelf 3"
		return nil
	})
	require.NoError(t, err)
	var events []registry.Event
	require.NoError(t, db.View(ctx, func(r registry.Reader) (err error) {
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
	w, db, path := open(t)
	stop := errors.New("stop")
	err := db.Update(ctx, &registry.Action{By: "QX", Verb: "log"}, func(tx registry.Tx) error {
		m := machine("K1")
		m.Tag = "X"
		require.NoError(t, tx.Put(m))
		return stop
	})
	require.ErrorIs(t, err, stop)
	require.NoError(t, w.Log(ctx, "QX", machine("K2"), false))
	raw := rawOpen(t, path)
	for table, want := range map[string]int{"machine": 1, "action": 1, "change": 1, "person": 1} {
		var n int
		require.NoError(t, raw.QueryRow("SELECT count(*) FROM "+table).Scan(&n))
		assert.Equal(t, want, n, table)
	}
}

func TestHistoryIsAppendOnlyAndTagsStay(t *testing.T) {
	w, _, path := open(t)
	require.NoError(t, w.Log(ctx, "QX", machine("K1"), false))
	raw := rawOpen(t, path)
	for _, forbidden := range []string{
		"UPDATE action SET by = 'QX'", "DELETE FROM action", "UPDATE change SET fields = '{}'", "DELETE FROM change",
		"DELETE FROM machine", "UPDATE machine SET tag = 'PM9'",
	} {
		_, err := raw.Exec(forbidden)
		assert.Error(t, err, forbidden)
	}
}

func TestANewerFileIsRefused(t *testing.T) {
	_, db, path := open(t)
	require.NoError(t, db.Close())
	raw := rawOpen(t, path)
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

func TestTwinsAreWarnedOfOnce(t *testing.T) {
	w, _, _ := open(t)
	first := machine("K-001")
	require.NoError(t, w.Log(ctx, "QX", first, false))
	err := w.Log(ctx, "QX", machine("k 1"), false)
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	assert.ErrorContains(t, err, string(first.Tag))
	require.NoError(t, w.Log(ctx, "QX", machine("k 1"), true))
	require.NoError(t, w.Log(ctx, "QX", machine(registry.NoSerial), false))
	require.NoError(t, w.Log(ctx, "QX", machine(registry.NoSerial), false), "machines without a plate are not the same machine")
}

func TestFilters(t *testing.T) {
	w, db, _ := open(t)
	for _, m := range []*registry.Machine{
		{Maker: "Willcox & Gibbs", Serial: "15000", Drive: registry.Hand},
		{Maker: "Willcox & Gibbs", Serial: "296572", Drive: registry.Treadle, Place: "shelf 3"},
		{Maker: "Harrow", Serial: "none", Drive: registry.Hand, Note: "100% rust_free"},
	} {
		require.NoError(t, w.Log(ctx, "QX", m, false))
	}
	for _, c := range []struct {
		name string
		f    registry.MachineFilter
		want []string
	}{
		{"all", registry.MachineFilter{}, []string{"15000", "296572", "none"}},
		{"drive", registry.MachineFilter{Drive: registry.Hand}, []string{"15000", "none"}},
		{"maker in any spelling", registry.MachineFilter{Maker: "willcox and gibbs"}, []string{"15000", "296572"}},
		{"made in 1858", registry.MachineFilter{MadeFrom: 1858, MadeTo: 1858}, []string{"15000"}},
		{"open end", registry.MachineFilter{MadeFrom: 1900}, []string{"296572"}},
		{"text takes % and _ literally", registry.MachineFilter{Text: "0% RUST_"}, []string{"none"}},
		{"place", registry.MachineFilter{Place: "Shelf 3"}, []string{"296572"}},
		{"page", registry.MachineFilter{After: registry.NewTag("PM", 1), Limit: 1}, []string{"296572"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			require.NoError(t, db.View(ctx, func(r registry.Reader) error {
				n, err := r.Count(registry.MachineFilter{Stage: c.f.Stage, Drive: c.f.Drive, Maker: c.f.Maker, MadeFrom: c.f.MadeFrom,
					MadeTo: c.f.MadeTo, Text: c.f.Text, Place: c.f.Place, After: c.f.After})
				require.NoError(t, err)
				assert.GreaterOrEqual(t, n, len(c.want))
				return r.Machines(c.f, func(m *registry.Machine) error {
					got = append(got, m.Serial)
					return nil
				})
			}))
			assert.Equal(t, c.want, got)
		})
	}
}

func rawOpen(t testing.TB, path string) *sql.DB {
	t.Helper()
	raw, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	t.Cleanup(func() { raw.Close() })
	return raw
}

// What is offered while somebody types comes from what is in the house, each name once whatever its capitals.
func TestNamesAreThoseInTheHouse(t *testing.T) {
	w, db, _ := open(t)
	for i, c := range [][2]string{{"Ostermann", "bay 2"}, {"OSTERMANN", "Bay 2"}, {"Harrow & Finch", ""}, {"Tamarisk", "attic"}} {
		m := machine("K" + string(rune('1'+i)))
		m.Maker, m.Place = c[0], c[1]
		require.NoError(t, w.Log(ctx, "QX", m, false))
	}
	_, err := w.Undo(ctx, "QX") // Tamarisk, in the attic
	require.NoError(t, err)
	require.NoError(t, db.View(ctx, func(r registry.Reader) error {
		makers, err := r.Names(registry.ColumnMaker, 10)
		require.NoError(t, err)
		assert.Equal(t, []string{"Harrow & Finch", "Ostermann"}, makers)
		places, err := r.Names(registry.ColumnPlace, 10)
		require.NoError(t, err)
		assert.Equal(t, []string{"bay 2"}, places)
		_, err = r.Names(registry.ColumnDonor, 10)
		assert.ErrorContains(t, err, "has no index")
		return nil
	}))
}
