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
		do     func(registry.Tag) (*stock.Base, error)
		want   string // one word a stage
		action string // of the table of moves; none where more than that is corrected
	}{
		"ready": {func(tag registry.Tag) (*stock.Base, error) {
			return w.ReadyBase(registrytest.Ctx, "QX", tag)
		}, "ready . . . . . . . .", registry.DoBaseReady},
		"hold": {func(tag registry.Tag) (*stock.Base, error) {
			return w.HoldBase(registrytest.Ctx, "QX", tag, "cracked")
		}, "held held held . . . . . .", registry.DoHold},
		"release": {func(tag registry.Tag) (*stock.Base, error) {
			return w.ReleaseBase(registrytest.Ctx, "QX", tag, "")
		}, ". . . . . . . . ready", registry.DoRelease},
		"triage refurbish": {triage("refurbish"), ". . . . . logged logged logged .", registry.DoRefurbish},
		"triage parts":     {triage("parts"), "parts parts . . . . . . parts", registry.DoStrip},
		"triage sale":      {triage("sale"), "sold sold . . . . . . sold", registry.DoSell},
		"triage scrap":     {triage("scrap"), "scrapped scrapped . . . scrapped . . scrapped", registry.DoScrap},
		"a part is missing": {func(tag registry.Tag) (*stock.Base, error) {
			return w.AmendBase(registrytest.Ctx, "QX", tag, "",
				func(b *stock.Base) error { b.Parts = registry.List[string]{"legs"}; return nil })
		}, "logged logged . . shipped parts sold scrapped held", ""},
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
			offers, err := w.AllowedBaseMoves(registrytest.Ctx, before)
			require.NoError(t, err)
			after, err := c.do(tag)
			for _, o := range offers {
				if o.Action == c.action {
					assert.Equal(t, err == nil, o.Allowed, "offered %s at %s: %v", name, stage, o.Refusal)
				}
			}
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
