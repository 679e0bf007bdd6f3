package stock_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Every action on a base at every stage, against a table written out by hand: where it leads, "." where it is
// refused. A refusal changes nothing. The held base was ready before.
func TestEveryActionOnABaseAtEveryStage(t *testing.T) {
	stages := strings.Fields("logged ready reserved packed shipped parts sold scrapped held")
	w := registrytest.Workshop(t)
	triage := func(to string) func(registry.Tag) (*stock.Base, error) {
		return func(tag registry.Tag) (*stock.Base, error) {
			return w.TriageBase(registrytest.Ctx, "QX", tag, to, "a reason")
		}
	}
	for name, c := range map[string]struct {
		do   func(registry.Tag) (*stock.Base, error)
		want string // one word a stage
	}{
		"ready": {func(tag registry.Tag) (*stock.Base,
			error) {
			return w.ReadyBase(registrytest.Ctx, "QX", tag)
		}, "ready . . . . . . . ."},
		"hold": {func(tag registry.Tag) (*stock.Base,
			error) {
			return w.HoldBase(registrytest.Ctx, "QX", tag, "cracked")
		}, "held held held . . . . . ."},
		"release": {func(tag registry.Tag) (*stock.Base,
			error) {
			return w.ReleaseBase(registrytest.Ctx, "QX", tag, "")
		}, ". . . . . . . . ready"},
		"triage refurbish": {triage("refurbish"), ". . . . . logged logged logged ."},
		"triage parts":     {triage("parts"), "parts parts . . . . . . parts"},
		"triage sale":      {triage("sale"), "sold sold . . . . . . sold"},
		"triage scrap":     {triage("scrap"), "scrapped scrapped . . . scrapped . . scrapped"},
		"a part is missing": {func(tag registry.Tag) (*stock.Base, error) {
			return w.AmendBase(registrytest.Ctx, "QX", tag, "",
				func(b *stock.Base) error { b.Parts = registry.List[string]{"legs"}; return nil })
		}, "logged logged . . shipped parts sold scrapped held"},
	} {
		want := strings.Fields(c.want)
		require.Len(t, want, len(stages), name)
		for i, stage := range stages {
			tag := registrytest.PutBase(t, w, func(b *stock.Base) {
				b.Stage = registry.Stage(stage)
				if b.Stage == registry.Held {
					b.HeldFrom, b.HeldWhy = registry.Ready, "waits"
				}
			})
			before, err := w.Base(registrytest.Ctx, tag)
			require.NoError(t, err)
			after, err := c.do(tag)
			if want[i] == "." {
				assert.Equal(t, registry.Conflict, registry.CodeOf(err), "%s at %s", name, stage)
				now, err := w.Base(registrytest.Ctx, tag)
				require.NoError(t, err)
				assert.Equal(t, before, now, "%s at %s", name, stage)
				continue
			}
			require.NoError(t, err, "%s at %s", name, stage)
			assert.Equal(t, want[i], string(after.Stage), "%s at %s", name, stage)
			if after.Stage != before.Stage {
				assert.True(t, after.Since.After(before.Since), "%s at %s", name, stage)
			}
			if name == "a part is missing" && stage == "held" {
				assert.Equal(t, registry.Logged, after.HeldFrom,
					"released, it would be ready without its parts")
			}
		}
	}
}

func TestABaseIsReadyOnlyWithItsParts(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.PutBase(t, w, func(b *stock.Base) {
		b.Parts = registry.List[string]{"legs", "brace", "treadle-plate", "flywheel", "top"}
	})
	_, err := w.ReadyBase(registrytest.Ctx, "QX", tag)
	assert.EqualError(t, err, string(tag)+" lacks pitman, guard, by what is recorded: find them, then say so")

	// A missing top is cut new for the head, so nothing waits for it.
	topless := registrytest.PutBase(t, w, func(b *stock.Base) {
		b.Top, b.Parts = stock.TopMissing,
			registry.List[string]{"legs", "brace", "treadle-plate", "pitman", "flywheel", "guard"}
	})
	b, err := w.ReadyBase(registrytest.Ctx, "QX", topless)
	require.NoError(t, err)
	assert.Equal(t, registry.Ready, b.Stage)
}

func TestUndoOnABase(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.PutBase(t, w, func(*stock.Base) {})
	_, err := w.ReadyBase(registrytest.Ctx, "QX", tag)
	require.NoError(t, err)
	_, err = w.HoldBase(registrytest.Ctx, "RS", tag, "cracked leg")
	require.NoError(t, err)
	_, err = w.Undo(registrytest.Ctx, "QX")
	assert.ErrorContains(t, err, "RS did hold to "+string(tag))
	done, err := w.UndoOn(registrytest.Ctx, "QX", tag)
	require.NoError(t, err)
	assert.Equal(t, "hold", done.Action)
	b, err := w.Base(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Ready, b.Stage)
	assert.Empty(t, b.HeldWhy)
}

// A move is one action: what cannot be moved keeps the rest where it was, and undoing it puts all back.
func TestAMoveIsAllOrNone(t *testing.T) {
	w := registrytest.Workshop(t)
	head := registrytest.Put(t, w, registry.Treadle, func(m *stock.Machine) { m.Place = "bay 1" })
	base := registrytest.PutBase(t, w, func(*stock.Base) {})
	sold := registrytest.PutBase(t, w, func(b *stock.Base) { b.Stage = registry.Sold })
	places := func() [2]string {
		m, err := w.Machine(registrytest.Ctx, head)
		require.NoError(t, err)
		b, err := w.Base(registrytest.Ctx, base)
		require.NoError(t, err)
		return [2]string{m.Place, b.Place}
	}
	_, err := w.Move(registrytest.Ctx, "QX", []registry.Tag{head, base, sold}, "bay 2")
	assert.ErrorContains(t, err, string(sold)+" is sold and has no place here")
	assert.Equal(t, [2]string{"bay 1", "bay 1"}, places())
	_, err = w.Move(registrytest.Ctx, "QX", []registry.Tag{head, base, head}, "bay 2")
	require.NoError(t, err)
	assert.Equal(t, [2]string{"bay 2", "bay 2"}, places())
	_, err = w.Undo(registrytest.Ctx, "QX")
	require.NoError(t, err)
	assert.Equal(t, [2]string{"bay 1", "bay 1"}, places())
}

// Shelf labels are for places where something stands: each once, and none for what has left the house.
func TestPlacesInUse(t *testing.T) {
	w := registrytest.Workshop(t)
	places, err := w.PlacesInUse(registrytest.Ctx)
	require.NoError(t, err)
	assert.Empty(t, places)
	for _, place := range []string{"shelf 3", "Attic", "SHELF 3", ""} {
		registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place = place })
	}
	registrytest.Put(t, w, registry.Hand,
		func(m *stock.Machine) { m.Place, m.Stage = "van", registry.Shipped })
	registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place, m.HandedTo = "lent", "FF" })
	registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "attic" })
	registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "bay 2" })
	registrytest.PutBase(t, w, func(b *stock.Base) { b.Place, b.Stage = "yard", registry.Scrapped })
	places, err = w.PlacesInUse(registrytest.Ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"Attic", "bay 2", "shelf 3"}, places)
}

func TestACountLooksAndCorrectsOnlyWhenTold(t *testing.T) {
	w := registrytest.Workshop(t)
	there := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place = "bay 1" })
	lost := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place = "Bay 1" })
	registrytest.Put(t, w, registry.Hand,
		func(m *stock.Machine) { m.Place, m.Stage = "bay 1", registry.Shipped })
	strayed := registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "bay 2" })
	back := registrytest.PutBase(t, w, func(b *stock.Base) { b.Stage = registry.Shipped })
	tags := func(units []stock.Unit) (out []registry.Tag) {
		for _, u := range units {
			out = append(out, u.Tag)
		}
		return out
	}
	scanned := []registry.Tag{there, strayed, back, there}
	c, err := w.Count(registrytest.Ctx, "bay 1", scanned)
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{there}, tags(c.Found))
	assert.Equal(t, []registry.Tag{lost}, tags(c.Missing), "what was shipped is not missed")
	assert.Equal(t, []registry.Tag{strayed}, tags(c.ByMistake))
	assert.Equal(t, []registry.Tag{back}, tags(c.Gone))

	again, err := w.CorrectCount(registrytest.Ctx, "QX", "bay 1", scanned)
	require.NoError(t, err)
	assert.True(t, again.Corrected)
	m, err := w.Machine(registrytest.Ctx, lost)
	require.NoError(t, err)
	assert.Empty(t, m.Place)
	c, err = w.Count(registrytest.Ctx, "bay 1", scanned)
	require.NoError(t, err)
	assert.Empty(t, c.Missing)
	assert.Empty(t, c.ByMistake)
	assert.Equal(t, []registry.Tag{there, strayed}, tags(c.Found))
	b, err := w.Base(registrytest.Ctx, back)
	require.NoError(t, err)
	assert.Equal(t, registry.Shipped, b.Stage)
}
