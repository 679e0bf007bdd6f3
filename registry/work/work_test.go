package work_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
	"pitman/registry/work"
)

func TestParseID(t *testing.T) {
	for text, want := range map[string]string{"ORD1-3": "ORD1-3", "1-3": "ORD1-3", " ord12-007 ": "ORD12-7"} {
		_, id, err := work.ParseID(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, id)
	}
	for _, text := range []string{"", "3", "ORD1", "ORD1-", "ORD1-0", "ORD0-1", "ORD1-3-x", "PM16-1"} {
		_, _, err := work.ParseID(text)
		require.Error(t, err, text)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	}
}

// promise makes an order whose one set needs a handwheel, and confirms it.
func promise(t *testing.T) (w *house.Workshop, number string, head *stock.Machine, base *stock.Base) {
	t.Helper()
	w = registrytest.OrderWorkshop(t)
	w.Spares.Lists.Kits = nil
	head, base = registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	head.Groove = stock.No
	registrytest.InHand(t, w, head, base)
	number = registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	return w, number, head, base
}

// Work is done once, changes the record, blocks the crate until then, and asks for the set to be tried.
func TestWorkIsDoneOnce(t *testing.T) {
	w, number, head, base := promise(t)
	tags := []registry.Tag{head.Tag, base.Tag}
	list, err := w.ListWork(registrytest.Ctx, "")
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, []any{number + "-1", fit.JobSwapWheel, orders.WorkOpen},
		[]any{list[0].ID, list[0].Job, list[0].State})
	_, err = w.Pack(registrytest.Ctx, "QX", number, tags, "")
	assert.ErrorContains(t, err, "work that is not done")
	_, err = w.WorkIsDone(registrytest.Ctx, "RS", number, number+"-2", 0)
	assert.Equal(t, registry.NotFound, registry.CodeOf(err))
	k, err := w.WorkIsDone(registrytest.Ctx, "RS", number, number+"-1", 25)
	require.NoError(t, err)
	assert.Equal(t, []any{orders.WorkDone, registry.Initials("RS"), 25}, []any{k.State, k.By, k.Spent})
	m, err := w.Machine(registrytest.Ctx, head.Tag)
	require.NoError(t, err)
	assert.Equal(t, []any{stock.Yes, registry.Reserved}, []any{m.Groove, m.Stage})
	_, err = w.WorkIsDone(registrytest.Ctx, "RS", number, number+"-1", 0)
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	_, err = w.Pack(registrytest.Ctx, "QX", number, tags, "")
	assert.ErrorContains(t, err, "was not tried on "+string(base.Tag))
}

// Work goes back with its place, and a new promise of the same pieces begins with what is still to be done.
func TestWorkGoesBackWithItsPlace(t *testing.T) {
	w, number, head, _ := promise(t)
	_, err := w.ReleaseSets(registrytest.Ctx, "QX", number, "", nil)
	require.NoError(t, err)
	list, err := w.ListWork(registrytest.Ctx, number)
	require.NoError(t, err)
	assert.Empty(t, list)
	_, err = w.WorkIsDone(registrytest.Ctx, "RS", number, number+"-1", 0)
	assert.ErrorContains(t, err, "went back with its place")
	m, err := w.Machine(registrytest.Ctx, head.Tag)
	require.NoError(t, err)
	assert.Equal(t, []any{stock.No, registry.Ready}, []any{m.Groove, m.Stage})
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	list, err = w.ListWork(registrytest.Ctx, number)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, number+"-2", list[0].ID, "no number is given twice")
}

// A house that tries every set asks it of one without work, too.
func TestEverySetIsTried(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	w.Spares.Lists.Kits = nil
	w.Config.Order.TryEverySet = true
	head, base := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, head, base)
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	_, err = w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{base.Tag}, "")
	assert.ErrorContains(t, err, "and this house tries every set")
}
