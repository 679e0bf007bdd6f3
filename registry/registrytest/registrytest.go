// Package registrytest makes workshops to test rules in. They stand on a real SQLite file, since a stand-in
// for it would be a second opinion on what is stored; so tests of rules that need records are external ones,
// beside the rule.
package registrytest

import (
	"context"
	"database/sql"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/measure"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/serials"
)

// Open makes a registry in a file of its own, with a workshop around it that has no lists and whose clock
// stands still.
func Open(t testing.TB) (w *house.Workshop, db *sqlite.DB, path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, sqlite.Create(path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return house.NewWorkshop(db, house.Defaults(), house.Lists{},
		sync.OnceValues(func() (*serials.Tables, error) { return serials.LoadFS(serials.Starters()) }),
		func() time.Time { return time.Date(2031, 5, 4, 9, 30, 0, 123456789, time.UTC) }), db, path
}

// Raw is the file without pitman around it, to look at it or break it.
func Raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	raw, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	t.Cleanup(func() { raw.Close() })
	return raw
}

// Workshop has the built-in lists, EL as its competent person, and a clock that moves on a minute at each
// look.
func Workshop(t testing.TB) *house.Workshop {
	t.Helper()
	w, _ := WorkshopAt(t)
	return w
}

// WorkshopAt is a Workshop that also says where its file is.
func WorkshopAt(t testing.TB) (w *house.Workshop, path string) {
	t.Helper()
	w, _, path = Open(t)
	w.Config.Safety.Competent = []string{"EL"}
	w.Lists = house.ReadLists(t.TempDir())
	at := time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC)
	w.Now = func() time.Time {
		at = at.Add(time.Minute)
		return at
	}
	return w, path
}

// Machine is a hand machine that nobody logged yet.
func Machine(serial string) *stock.Machine {
	return &stock.Machine{Maker: "Harrow & Finch", Serial: serial, Drive: registry.Hand,
		Patents: []string{"D1234"}, Seen: []int{1931}}
}

// Put logs a machine and sets it to a stage, whatever led there.
func Put(t testing.TB, w *house.Workshop, drive registry.Drive, change func(*stock.Machine)) registry.Tag {
	t.Helper()
	m := &stock.Machine{Maker: "Harrow & Finch", Serial: "none", Drive: drive}
	require.NoError(t, w.Log(context.Background(), "QX", m, true))
	setUp(t, w, func() registry.Record { change(m); return m })
	return m.Tag
}

// PutBase takes in a complete base and sets it to a stage, whatever led there.
func PutBase(t testing.TB, w *house.Workshop, change func(*stock.Base)) registry.Tag {
	t.Helper()
	b := &stock.Base{Pins: 241 * measure.Millimetre, Parts: registry.List[string]{"all"}, Place: "bay 1"}
	require.NoError(t, w.AddBase(context.Background(), "QX", b))
	setUp(t, w, func() registry.Record { change(b); return b })
	return b.Tag
}

func setUp(t testing.TB, w *house.Workshop, changed func() registry.Record) {
	t.Helper()
	a := &registry.Action{At: w.Now(), By: "QX", Verb: "set up"}
	require.NoError(t,
		w.Store.Update(context.Background(), a, func(tx stock.Tx) error { return tx.Put(changed()) }))
}

// NextSteps are what a refusal says can be done next.
func NextSteps(t testing.TB, err error) []registry.NextStep {
	t.Helper()
	var refused *registry.Error
	require.ErrorAs(t, err, &refused)
	return refused.Next
}

// GoodSafety is an electrical safety test that passes.
func GoodSafety() electrical.SafetyForm {
	return electrical.SafetyForm{Class: "II", Visual: "pass", Insulation: "20", SwitchOn: true,
		Leakage: "0.1", Polarity: "pass",
		Fuse: "3", Volts: "230", Hertz: "50", Watts: "85"}
}

// FailedSafety is one that ended at the first look.
func FailedSafety() electrical.SafetyForm { return electrical.SafetyForm{Class: "I", Visual: "fail"} }

// VerifiesClean asks for a registry in which verify finds no fault.
func VerifiesClean(t testing.TB, w *house.Workshop) {
	t.Helper()
	faults, err := w.Store.(*sqlite.DB).Verify(context.Background(), w.Config.House.Letters, nil)
	require.NoError(t, err)
	require.Empty(t, faults)
}
