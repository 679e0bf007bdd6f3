package registrytest

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/imports"
	"pitman/registry/sheet"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/serials"
)

// InLetters is an empty house in a file of its own.
func InLetters(t testing.TB, letters string) *house.Workshop {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, sqlite.Create(path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	config := house.Defaults()
	config.House.Letters = letters
	return house.NewWorkshop(db, config, house.Lists{},
		sync.OnceValues(func() (*serials.Tables, error) { return serials.LoadFS(serials.Starters()) }),
		func() time.Time { return time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC) })
}

// TakeIn imports a sheet.
func TakeIn(ctx context.Context, w *house.Workshop, text string) (imports.Result, error) {
	return TakeInOr(ctx, w, text, false)
}

// TakeInOr imports a sheet, and lets machines take over what differs if update is set.
func TakeInOr(ctx context.Context, w *house.Workshop, text string, update bool) (imports.Result, error) {
	var result imports.Result
	in, err := onItsWay(strings.NewReader(text))
	if err == nil {
		err = w.TakeIn(ctx, "QX", "test.csv", update, in, &result)
	}
	return result, err
}

// TakeInTurns imports a sheet whose last row has this number.
func TakeInTurns(ctx context.Context, w *house.Workshop, name string, file io.ReadSeeker, turns imports.Turns,
	last int) (*imports.Result, error) {
	in, err := onItsWay(file)
	if err != nil {
		return nil, err
	}
	w.Imports.Turns, in.Last = turns, last
	result := &imports.Result{}
	return result, w.TakeIn(ctx, "QX", name, false, in, result)
}

func onItsWay(file io.ReadSeeker) (*imports.Import, error) {
	r, err := sheet.Open(file, func(string) bool { return true })
	if err != nil {
		return nil, err
	}
	columns, unknown, faults := imports.MatchColumns(r.Header(), nil, nil)
	if len(unknown)+len(faults) > 0 {
		return nil, fmt.Errorf("header: %v %v", unknown, faults)
	}
	return &imports.Import{Sheet: r, Columns: columns, File: file}, nil
}

// Count counts the machines.
func Count(t testing.TB, s stock.Store) (n int) {
	t.Helper()
	assert.NoError(t, s.View(Ctx, func(r stock.Reader) (err error) {
		n, err = r.Count(stock.MachineFilter{})
		return err
	}))
	return n
}

// Logged logs a hand machine.
func Logged(t testing.TB, w *house.Workshop, maker, serial string) *stock.Machine {
	t.Helper()
	m := &stock.Machine{Maker: maker, Serial: serial, Drive: registry.Hand}
	require.NoError(t, w.Log(Ctx, "QX", m, true))
	return m
}
