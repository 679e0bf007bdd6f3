package shipments_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/registrytest"
	"pitman/registry/reports"
	"pitman/registry/shipments"
)

// why is the reason of the one line of the worklist that is meant.
func why(t *testing.T, w *house.Workshop, meant func(reports.Task) bool) string {
	list, err := w.Worklist(registrytest.Ctx, "")
	require.NoError(t, err)
	i := slices.IndexFunc(list.Tasks, meant)
	require.NotEqual(t, -1, i, "%+v", list.Tasks)
	return list.Tasks[i].Why
}

// fill reserves so many machines as is proposed, and names them.
func fill(t *testing.T, w *house.Workshop, n int) (tags []registry.Tag) {
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.Len(t, p.Reservations, n)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	for _, r := range p.Reservations {
		tags = append(tags, r.Head.Tag)
	}
	return tags
}

// What is said on an order's way out of the house agrees with how many there are: of one as of two.
func TestCountsOnTheWayOutAgreeWithTheirWords(t *testing.T) {
	cases := []struct {
		places                                           int
		fillable, filled, unpacked, packed, goes, behind string
		gone, ago                                        string
	}{
		{1, "1 place can be filled now", "1 place of line 1 is filled: give some back before asking for 0",
			"its one place is not packed yet", "1 of its 1 place is packed",
			"has 1 place that goes with SHIPMENT1: send that",
			"has 1 filled place that goes with no shipment: put it on SHIPMENT1, too",
			"left, with 1 set or machine.", "1 day"},
		{2, "2 places can be filled now", "2 places of line 1 are filled: give some back before asking for 0",
			"0 of its 2 places are packed", "2 of its 2 places are packed",
			"has 2 places that go with SHIPMENT1: send that",
			"has 2 filled places that go with no shipment: put them on SHIPMENT1, too",
			"left, with 2 sets and machines.", "2 days"},
	}
	for _, c := range cases {
		t.Run(fmt.Sprint(c.places), func(t *testing.T) {
			w := registrytest.OrderWorkshop(t)
			w.Lists.Spares.Kits = nil // what goes into a kit has tests of its own
			ctx := registrytest.Ctx
			number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
				orders.OrderLine{Wanted: orders.HandMachine, Asked: 2 * c.places})
			for range c.places {
				head := registrytest.TreadleHead(0)
				head.Drive = registry.Hand
				registrytest.InHand(t, w, head)
			}
			assert.Contains(t, why(t, w, func(t reports.Task) bool { return t.Order == number }), c.fillable)
			tags := fill(t, w, c.places)
			_, err := w.ChangeLine(ctx, "QX", number, 1, 0)
			assert.ErrorContains(t, err, c.filled)

			require.NoError(t, w.NewShipment(ctx, "QX", &shipments.Shipment{}))
			_, err = w.Load(ctx, "QX", "SHIPMENT1", []string{number}, false)
			require.NoError(t, err)
			ofShipment := func(t reports.Task) bool { return t.Next.Given["shipment"] == "SHIPMENT1" }
			assert.Equal(t, c.unpacked, why(t, w, ofShipment))
			_, err = w.Pack(ctx, "QX", number, tags, "")
			require.NoError(t, err)
			assert.Equal(t, c.packed, why(t, w, ofShipment))
			_, _, err = w.ShipOrder(ctx, "QX", number, packing.Delivery{})
			assert.ErrorContains(t, err, c.goes)

			for range c.places {
				head := registrytest.TreadleHead(0)
				head.Drive = registry.Hand
				registrytest.InHand(t, w, head)
			}
			later := fill(t, w, c.places)
			_, err = w.Send(ctx, "QX", "SHIPMENT1")
			assert.ErrorContains(t, err, c.behind)
			_, err = w.Pack(ctx, "QX", number, later, "")
			require.NoError(t, err)
			_, sets, err := w.ShipOrder(ctx, "QX", number, packing.Delivery{Part: true})
			require.NoError(t, err)
			assert.Contains(t, packing.Gone(number, sets), c.gone)

			_, err = w.Send(ctx, "QX", "SHIPMENT1")
			require.NoError(t, err)
			w.Config.Worklist.ReportBackDays = 1
			after := w.Now().AddDate(0, 0, c.places)
			w.Now = func() time.Time { return after }
			assert.Equal(t, "it left "+c.ago+" ago, and no receipt is here", why(t, w, ofShipment))
			assert.Contains(t, why(t, w, func(t reports.Task) bool { return t.Order == number }),
				"left "+c.ago+" ago, and nobody reported back")
		})
	}
}
