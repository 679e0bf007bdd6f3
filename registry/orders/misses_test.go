package orders_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
)

func misses(t *testing.T, w *registry.Workshop) (tags []registry.Tag) {
	t.Helper()
	p, err := orders.Propose(ctx, w, nil)
	require.NoError(t, err)
	for _, miss := range p.Orders[0].Lines[0].Misses {
		tags = append(tags, miss.Tag)
	}
	return tags
}

// Of many alike heads three tell the story, so that those of other patterns are seen, too; a head that the plan uses missed nothing.
func TestMissesTellThreeOfAPattern(t *testing.T) {
	w := workshop(t)
	used := head(241 * mm)
	stock(t, w, used, base(241*mm), base(400*mm))
	var alike []registry.Tag
	for range 5 {
		h := head(300 * mm)
		stock(t, w, h)
		alike = append(alike, h.Tag)
	}
	other := head(410 * mm)
	stock(t, w, other)
	order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 9})
	assert.Equal(t, []registry.Tag{other.Tag, alike[0], alike[1], alike[2]}, misses(t, w))
}

// What is ready and outside a line's limits is told, but not what fills a place of another line.
func TestMissesLeaveOutWhatIsUsed(t *testing.T) {
	w := workshop(t)
	used, missed := head(0), head(0)
	used.Drive, missed.Drive, missed.Maker = registry.Hand, registry.Hand, "Ostermann"
	stock(t, w, used, missed)
	order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.HandMachine, Asked: 1, Stitch: "zigzag"},
		registry.OrderLine{Wanted: registry.HandMachine, Asked: 1, Maker: "Arden"})
	assert.Equal(t, []registry.Tag{missed.Tag}, misses(t, w))
}

// What another house has is no hope for an order of this one.
func TestMissesLeaveOutWhatIsElsewhere(t *testing.T) {
	w := workshop(t)
	coming, gone, unmade, lent := head(241*mm), head(241*mm), base(241*mm), base(241*mm)
	coming.Stage, gone.Stage, gone.HandedTo = registry.Queued, registry.Queued, "Ellerby"
	unmade.Stage, lent.Stage, lent.HandedTo = registry.Logged, registry.Logged, "Ellerby"
	stock(t, w, head(241*mm), coming, gone, unmade, lent)
	order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 2})
	tags := misses(t, w)
	assert.Contains(t, tags, coming.Tag)
	assert.Contains(t, tags, unmade.Tag)
	assert.NotContains(t, tags, gone.Tag)
	assert.NotContains(t, tags, lent.Tag)
}
