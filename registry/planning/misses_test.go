package planning_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
)

func misses(t *testing.T, w *house.Workshop) (tags []registry.Tag) {
	t.Helper()
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	for _, miss := range p.Orders[0].Lines[0].Misses {
		tags = append(tags, miss.Tag)
	}
	return tags
}

// Of many alike heads three tell the story, so that those of other patterns are seen, too; a head that the
// plan uses missed nothing.
func TestMissesTellThreeOfAPattern(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	used := registrytest.TreadleHead(241 * registrytest.Mm)
	registrytest.InHand(t, w, used, registrytest.TreadleBase(241*registrytest.Mm),
		registrytest.TreadleBase(400*registrytest.Mm))
	var alike []registry.Tag
	for range 5 {
		h := registrytest.TreadleHead(300 * registrytest.Mm)
		registrytest.InHand(t, w, h)
		alike = append(alike, h.Tag)
	}
	other := registrytest.TreadleHead(410 * registrytest.Mm)
	registrytest.InHand(t, w, other)
	registrytest.OpenOrder(t, w, "2032-03-01", 0, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 9})
	assert.Equal(t, []registry.Tag{other.Tag, alike[0], alike[1], alike[2]}, misses(t, w))
}

// What is ready and outside a line's limits is told, but not what fills a place of another line.
func TestMissesLeaveOutWhatIsUsed(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	used, missed := registrytest.TreadleHead(0), registrytest.TreadleHead(0)
	used.Drive, missed.Drive, missed.Maker = registry.Hand, registry.Hand, "Ostermann"
	registrytest.InHand(t, w, used, missed)
	registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.HandMachine, Asked: 1, Stitch: "zigzag"},
		orders.OrderLine{Wanted: orders.HandMachine, Asked: 1, Maker: "Arden"})
	assert.Equal(t, []registry.Tag{missed.Tag}, misses(t, w))
}

// What another house has is no hope for an order of this one.
func TestMissesLeaveOutWhatIsElsewhere(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	coming, gone, unmade, lent := registrytest.TreadleHead(241*registrytest.Mm),
		registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm),
		registrytest.TreadleBase(241*registrytest.Mm)
	coming.Stage, gone.Stage, gone.HandedTo = registry.Queued, registry.Queued, "Eldwray"
	unmade.Stage, lent.Stage, lent.HandedTo = registry.Logged, registry.Logged, "Eldwray"
	registrytest.InHand(t, w, registrytest.TreadleHead(241*registrytest.Mm), coming, gone, unmade, lent)
	registrytest.OpenOrder(t, w, "2032-03-01", 0, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 2})
	tags := misses(t, w)
	assert.Contains(t, tags, coming.Tag)
	assert.Contains(t, tags, unmade.Tag)
	assert.NotContains(t, tags, gone.Tag)
	assert.NotContains(t, tags, lent.Tag)
}
