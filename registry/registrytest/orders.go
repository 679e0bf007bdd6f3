package registrytest

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// Ctx is of no request.
var Ctx = context.Background()

// Mm is a millimetre.
const Mm = measure.Millimetre

// OrderWorkshop is an empty registry in a file of its own, with prices for what cannot be filled.
func OrderWorkshop(t testing.TB) *house.Workshop {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, sqlite.Create(path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return house.NewWorkshop(db, house.Defaults(),
		house.Lists{Orders: orders.Lists{Prices: func() ([]orders.PurchasePrice, error) {
			return []orders.PurchasePrice{{Wanted: orders.TreadleSet, Currency: "EUR", Price: 99.95},
				{Wanted: orders.ElectricOne, Currency: "USD", Price: 1}}, nil
		}}}, nil,
		func() time.Time { return time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC) })
}

// InHand puts pieces in as they stand, without the way there.
func InHand(t testing.TB, w *house.Workshop, records ...registry.Record) {
	t.Helper()
	err := w.Store.Update(Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "log"}, func(tx stock.Tx) error {
		for _, rec := range records {
			n, err := tx.NextNumber()
			if err != nil {
				return err
			}
			switch r := rec.(type) {
			case *stock.Machine:
				r.Tag, r.LoggedBy = registry.NewTag("PM", n), "QX"
				if r.LoggedAt.IsZero() {
					r.LoggedAt = w.Now()
				}
			case *stock.Base:
				r.Tag, r.LoggedBy = registry.NewTag("PM", n), "QX"
				if r.LoggedAt.IsZero() {
					r.LoggedAt = w.Now()
				}
			}
			if err := tx.Put(rec); err != nil {
				return err
			}
		}
		return nil
	})
	require.NoError(t, err)
}

// TreadleHead is ready, and fits a base with the same pins.
func TreadleHead(pins measure.Length) *stock.Machine {
	return &stock.Machine{Maker: "Arden", Serial: "1", Drive: registry.Treadle, Stage: registry.Ready,
		Stitch: "lockstitch",
		Head: stock.Head{BedLength: 371 * Mm, BedWidth: 178 * Mm, Pins: pins, Wheel: 70 * Mm,
			Groove: stock.Yes}}
}

// TreadleBase is ready, too.
func TreadleBase(pins measure.Length) *stock.Base {
	return &stock.Base{Stage: registry.Ready, Top: stock.TopFixed, OpeningLength: 374 * Mm,
		OpeningWidth: 181 * Mm, Pins: pins, Flywheel: 305 * Mm}
}

// OpenOrder takes in an order with its lines.
func OpenOrder(t testing.TB, w *house.Workshop, due string, priority int, lines ...orders.OrderLine) string {
	t.Helper()
	o := &orders.Order{Partner: "Marsh Lane centre", Due: due, Priority: priority, Supply: "230V/50Hz/G"}
	require.NoError(t, w.OpenOrder(Ctx, "QX", o))
	for i := range lines {
		lines[i].Order = o.Number
		require.NoError(t, w.AddLine(Ctx, "QX", &lines[i]))
	}
	return o.Number
}

// Confirmed is an order with what the proposal put onto it.
func Confirmed(t *testing.T, w *house.Workshop, line orders.OrderLine) string {
	t.Helper()
	number := OpenOrder(t, w, "2032-03-01", 0, line)
	p, err := w.Propose(Ctx, nil)
	require.NoError(t, err)
	require.NotEmpty(t, p.Reservations)
	require.NoError(t, w.Reserve(Ctx, "QX", "", p.Reservations))
	return number
}
