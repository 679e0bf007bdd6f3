package bench_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/recall"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// A look alone gives back the pass that work ended which touched no mains part, in a house that says so, and
// in no other case. What happens before it stands beside what refuses it; "" where it is enough.
func TestWhatALookAloneRevives(t *testing.T) {
	looked := electrical.SafetyForm{Visual: "pass"}
	said := func(note bench.WorkNote) func(*testing.T, *house.Workshop, registry.Tag) {
		return func(t *testing.T, w *house.Workshop, tag registry.Tag) { visit(t, w, tag, note) }
	}
	plain := bench.WorkNote{Jobs: []string{"oil", "clean"}, Minutes: 20}
	for name, one := range map[string]struct {
		before  func(*testing.T, *house.Workshop, registry.Tag)
		by      registry.Initials
		form    electrical.SafetyForm
		refused string
	}{
		"cleaned and oiled": {said(plain), "EL", looked, ""},
		"two visits": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			visit(t, w, tag, plain)
		}, "EL", looked, ""},
		"a bought handwheel": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
			require.NoError(t, err)
			_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag,
				spares.PartUse{Part: "handwheel", Bought: true})
			require.NoError(t, err)
			_, err = w.BenchFinish(registrytest.Ctx, "QX", tag, bench.WorkNote{})
			require.NoError(t, err)
		}, "EL", looked, ""},
		"nobody who is competent": {said(plain), "QX", looked, "QX is not on the house's list"},
		"a reading goes with it": {said(plain), "EL", electrical.SafetyForm{Visual: "pass", Insulation: "9"},
			"a look alone takes down no class and no reading"},
		"nobody said what was seen": {said(plain), "EL", electrical.SafetyForm{}, "visual is missing"},
		"the house asks for a test": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			w.Config.Safety.VisualRevives = false
		}, "EL", looked, "visual_revives under [safety] in house.toml is off"},
		"on the bench still": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, err := w.BenchStart(registrytest.Ctx, "QX", tag, plain)
			require.NoError(t, err)
		}, "EL", looked, "it is on the bench still"},
		"held from the bench": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, err := w.BenchStart(registrytest.Ctx, "QX", tag, plain)
			require.NoError(t, err)
			_, err = w.Hold(registrytest.Ctx, "QX", tag, "waits for a decision")
			require.NoError(t, err)
		}, "EL", looked, "it is on the bench still"},
		"an electrical job": {said(bench.WorkNote{Jobs: []string{"rewire"}}), "EL", looked,
			"no pass of this house was ended by work that touched no mains part"},
		"a note that names a mains part": {said(bench.WorkNote{Note: "new Foot control fitted"}), "EL",
			looked,
			"names what carries the mains"},
		"a note that names its wiring": {said(bench.WorkNote{Note: "flex renewed"}), "EL", looked,
			"names what carries the mains"},
		"a note that names an inlet": {said(bench.WorkNote{Note: "new mains inlet fitted"}), "EL", looked,
			"names what carries the mains"},
		"a harmless note": {said(bench.WorkNote{Note: "oiled and freed"}), "EL", looked, ""},
		"a job that names the mains, without the flag": {said(bench.WorkNote{Jobs: []string{"motor-mount"}}),
			"EL", looked, "no pass of this house was ended by work that touched no mains part"},
		"a job of the house that names the mains": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			w.Lists.Bench.Jobs = func() ([]bench.BenchJob, error) {
				return []bench.BenchJob{{Job: "new-ends", What: "New mains flex"}}, nil
			}
			visit(t, w, tag, bench.WorkNote{Jobs: []string{"new-ends"}})
		}, "EL", looked, "no pass of this house was ended by work that touched no mains part"},
		"every other job of the list": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			list, err := w.Lists.Bench.Jobs()
			require.NoError(t, err)
			var jobs []string
			for _, j := range list {
				if j.Drives.Has(registry.Electric) && !bool(j.Electrical) && j.Job != "motor-mount" &&
					j.Job != "pulley" {
					jobs = append(jobs, j.Job)
				}
			}
			visit(t, w, tag, bench.WorkNote{Jobs: jobs})
		}, "EL", looked, ""},
		"a motor": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
			require.NoError(t, err)
			_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "motor", Bought: true})
			require.NoError(t, err)
			_, err = w.BenchFinish(registrytest.Ctx, "QX", tag, bench.WorkNote{})
			require.NoError(t, err)
		}, "EL", looked, "no pass of this house was ended"},
		"its lamp was spoken of": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			_, err := w.SayMains(registrytest.Ctx, "QX", tag,
				[]stock.PartSaid{{Part: "lamp", State: mains.Off}})
			require.NoError(t, err)
		}, "EL", looked, "no pass of this house was ended"},
		"a failed function test": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, _, err := w.Test(registrytest.Ctx, "RS", tag,
				bench.TestForm{PassAll: true, Fail: map[string]string{"motor": "slow"}})
			require.NoError(t, err)
			_, err = w.BenchFinish(registrytest.Ctx, "QX", tag, plain)
			require.NoError(t, err)
		}, "EL", looked, "no pass of this house was ended"},
		"a failed function test after the work, taken back": {
			func(t *testing.T, w *house.Workshop, tag registry.Tag) {
				visit(t, w, tag, plain)
				_, _, err := w.LookAlone(registrytest.Ctx, "EL", tag, looked)
				require.NoError(t, err)
				_, _, err = w.Test(registrytest.Ctx, "RS", tag,
					bench.TestForm{PassAll: true, Fail: map[string]string{"motor": "slow"}})
				require.NoError(t, err)
				_, err = w.UndoOn(registrytest.Ctx, "RS", tag)
				require.NoError(t, err)
			}, "EL", looked, "no pass of this house was ended"},
		"a recall": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			_, err := w.Withdraw(registrytest.Ctx, "QX", recall.Which{Tester: "EL"}, "measured wrongly")
			require.NoError(t, err)
		}, "EL", looked, "was withdrawn"},
		"a failed safety test": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
			require.NoError(t, err)
		}, "EL", looked, "no pass of this house was ended"},
		"older than a pass may be": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			later := w.Now().AddDate(1, 0, 1)
			w.Now = func() time.Time { return later }
		}, "EL", looked, "is too old"},
		"tighter limits": {func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			visit(t, w, tag, plain)
			w.Config.Safety.Limits.InsulationIIMohm = 100
		}, "EL", looked, "is none by today's limits"},
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.Workshop(t)
			w.Config.Safety.VisualRevives = true
			tag := registrytest.Put(t, w, registry.Electric,
				func(m *stock.Machine) { m.Stage = registry.Check })
			m, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
			require.NoError(t, err)
			_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
			require.NoError(t, err)
			passed := m.SafetyAt
			one.before(t, w, tag)
			m, test, err := w.LookAlone(registrytest.Ctx, one.by, tag, one.form)
			if one.refused != "" {
				require.ErrorContains(t, err, one.refused)
				m, err = w.Machine(registrytest.Ctx, tag)
				require.NoError(t, err)
				assert.False(t, w.SafetyStands(m))
				return
			}
			require.NoError(t, err)
			assert.Equal(t, passed, m.SafetyAt, "it is no younger for a look")
			assert.Equal(t, passed, test.Revives)
			assert.True(t, w.SafetyStands(m))
			registrytest.VerifiesClean(t, w)
			lapsed, err := w.Recalled(registrytest.Ctx, recall.Which{Tester: "EL"})
			require.NoError(t, err)
			assert.Len(t, lapsed.Here, 1)
			_, err = w.UndoOn(registrytest.Ctx, "EL", tag)
			require.NoError(t, err)
			m, err = w.Machine(registrytest.Ctx, tag)
			require.NoError(t, err)
			assert.False(t, w.SafetyStands(m))
		})
	}
}

// visit is a visit to the bench in which this was done.
func visit(t *testing.T, w *house.Workshop, tag registry.Tag, note bench.WorkNote) {
	t.Helper()
	_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
	_, err = w.BenchFinish(registrytest.Ctx, "QX", tag, note)
	require.NoError(t, err)
}

// A look that finds a fault holds the machine as any other does.
func TestALookThatFindsAFault(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Safety.VisualRevives = true
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	visit(t, w, tag, bench.WorkNote{Jobs: []string{"oil"}})
	m, test, err := w.LookAlone(registrytest.Ctx, "EL", tag,
		electrical.SafetyForm{VisualFaults: map[string]string{"cord": "cut near the plug"}})
	require.NoError(t, err)
	assert.Equal(t, []any{false, registry.Held, true}, []any{test.Pass, m.Stage, m.PausedAt.IsZero()})
	registrytest.VerifiesClean(t, w)
}

// What was done since the pass is told by the days of the house, as on every screen.
func TestALookTellsTheDaysOfTheHouse(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Safety.VisualRevives = true
	w.Config.House.Zone = "Etc/GMT-14" // as far ahead of UTC as any clock of a house
	evening := time.Date(2031, 5, 4, 20, 0, 0, 0, time.UTC)
	w.Now = func() time.Time { return evening }
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	visit(t, w, tag, bench.WorkNote{Jobs: []string{"oil"}})
	_, work, err := w.MayLookAlone(registrytest.Ctx, "EL", tag)
	require.NoError(t, err)
	assert.Equal(t, []string{"2031-05-05 QX: start", "2031-05-05 QX: finish oil"}, work)
}
