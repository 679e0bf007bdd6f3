package house_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// Each desk of the crowd was shown the same stock before any confirmed: one gets it, the others are told.
func TestACrowdThatConfirmsTheSameStockSharesNone(t *testing.T) {
	const desks = 8
	w, _, path := registrytest.Open(t)
	registrytest.InHand(t, w, registrytest.TreadleHead(241*registrytest.Mm),
		registrytest.TreadleBase(241*registrytest.Mm))
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 2})
	var shown, done sync.WaitGroup
	shown.Add(desks)
	refused := make([]error, desks)
	for i := range desks {
		db, err := sqlite.Open(path)
		require.NoError(t, err)
		done.Go(func() {
			defer db.Close()
			own := house.NewWorkshop(db, w.Config, w.Lists, nil, w.Now)
			p, err := own.Propose(ctx, nil)
			shown.Done()
			shown.Wait()
			if assert.NoError(t, err) && assert.NotEmpty(t, p.Reservations) {
				refused[i] = own.Reserve(ctx, "QX", "", p.Reservations)
			}
		})
	}
	done.Wait()
	got := 0
	for _, err := range refused {
		var refusal *registry.Error
		if err == nil {
			got++
		} else {
			assert.ErrorAs(t, err, &refusal)
		}
	}
	assert.Equal(t, 1, got)
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		sets, err := promise.OrderSets(r, number)
		assert.Len(t, sets, 1)
		return err
	}))
}
