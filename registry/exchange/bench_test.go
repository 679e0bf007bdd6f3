package exchange_test

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/sheet"
	"pitman/registry/sqlite"
	"pitman/serials"
)

var ctx = context.Background()

// workshop is an empty house in a file of its own.
func workshop(t testing.TB, letters string) *house.Workshop {
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

func takeIn(ctx context.Context, w *house.Workshop, text string) (exchange.Result, error) {
	return takeInOr(ctx, w, text, false)
}

// takeInOr imports a sheet, and lets machines take over what differs if update is set.
func takeInOr(ctx context.Context, w *house.Workshop, text string, update bool) (exchange.Result, error) {
	var result exchange.Result
	r, err := sheet.Open(strings.NewReader(text), func(string) bool { return true })
	if err != nil {
		return result, err
	}
	columns, unknown, faults := exchange.MatchColumns(r.Header(), nil, nil)
	if len(unknown)+len(faults) > 0 {
		return result, fmt.Errorf("header: %v %v", unknown, faults)
	}
	in := exchange.Import{Sheet: r, Columns: columns}
	err = w.Import(ctx, "QX", "test.csv", update,
		func(i *exchange.Intake) error { return in.Run(ctx, i, &result) })
	return result, err
}

// A big spreadsheet, with checks and history, in machines a second. Common practice: a year of donations is
// some thousands.
func BenchmarkImport(b *testing.B) {
	w := workshop(b, "PM")
	var text strings.Builder
	text.WriteString("maker,serial,drive,model,donor,condition,place,note\n")
	for i := range b.N {
		fmt.Fprintf(&text,
			"Willcox & Gibbs,%d,hand,Swallow,donor %d,complete and dusty,bay %d,note of row %d\n", i+1, i%700,
			i%40, i)
	}
	cancellable, stop := context.WithCancel(ctx) // as the command runs
	defer stop()
	b.ResetTimer()
	result, err := takeIn(cancellable, w, text.String())
	require.NoError(b, err)
	require.Equal(b, b.N, result.New)
}
