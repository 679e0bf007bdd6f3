package sent_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/registrytest"
	"pitman/registry/sent"
	"pitman/registry/stock"
)

var ctx = registrytest.Ctx

func came(t *testing.T, w *house.Workshop) *stock.Machine {
	t.Helper()
	m := &stock.Machine{Maker: "Harrow & Finch", Serial: "K20417", Drive: registry.Hand}
	require.NoError(t, w.Log(ctx, "QX", m, true))
	return m
}

func lastOf(t *testing.T, w *house.Workshop, tag registry.Tag) (last int64) {
	t.Helper()
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		events, err := r.History(string(tag))
		last = events[len(events)-1].ID
		return err
	}))
	return last
}

func TestAFormActsOnce(t *testing.T) {
	w := registrytest.Workshop(t)
	m := came(t, w)
	form := sent.With(ctx, sent.Form{Key: "0123456789abcdef"})
	_, err := w.Hold(form, "QX", m.Tag, "waits for its owner")
	require.NoError(t, err)
	_, err = w.Move(form, "QX", []registry.Tag{m.Tag}, "long shelf")
	var before *sent.Before
	require.ErrorAs(t, err, &before)
	assert.Equal(t, []string{string(m.Tag)}, before.Subjects)
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	_, err = w.Undo(ctx, "QX")
	require.NoError(t, err)
	_, err = w.Hold(form, "QX", m.Tag, "waits for its owner")
	assert.ErrorAs(t, err, &before, "nor after it was undone: whoever wants it again opens a new form")

	// A form that was refused did nothing, so it may be sent again.
	form = sent.With(ctx, sent.Form{Key: "fedcba9876543210"})
	_, err = w.Hold(form, "QX", m.Tag, "")
	require.Error(t, err)
	_, err = w.Hold(form, "QX", m.Tag, "a lamp")
	require.NoError(t, err)
	for _, key := range []string{"short", strings.Repeat("a", 81), "0123456789abcde\x00",
		"0123456789abc'--"} {
		_, err = w.Release(sent.With(ctx, sent.Form{Key: key}), "QX", m.Tag, "")
		assert.Equal(t, registry.Invalid, registry.CodeOf(err), key)
	}
}

func TestAFormSaysWhatItsReaderSaw(t *testing.T) {
	w := registrytest.Workshop(t)
	m, other := came(t, w), came(t, w)
	seen := sent.Form{Subject: string(m.Tag), Seen: lastOf(t, w, m.Tag)}
	_, err := w.Hold(ctx, "ZB", other.Tag, "a lamp")
	require.NoError(t, err)
	blank := sent.With(ctx, sent.Form{Subject: string(m.Tag)})
	_, err = w.Hold(blank, "QX", m.Tag, "a lamp")
	var unseen *sent.Outdated
	require.ErrorAs(t, err, &unseen, "who does not say what they saw has seen nothing")
	form := sent.With(context.Background(), seen)
	_, err = w.Move(form, "QX", []registry.Tag{m.Tag}, "long shelf")
	require.NoError(t, err, "what happened to another one does not matter")
	_, err = w.Hold(form, "QX", m.Tag, "a lamp")
	var stale *sent.Outdated
	require.ErrorAs(t, err, &stale)
	require.Len(t, stale.Since, 1)
	assert.Equal(t, "move", stale.Since[0].Action)
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	found, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Logged, found.Stage)
}
