package undo_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Nobody brings a pass back by undoing, the competent included: what was done is done, and leads to a new
// test.
func TestNoUndoingBringsAPassBack(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, err = w.BenchNote(registrytest.Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"rewire"}})
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "EL", tag)
	require.NoError(t, err)
	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.False(t, w.SafetyStands(m))
	registrytest.VerifiesClean(t, w)
}

// What was handed over is not taken back as ready later: nobody here saw what was done to it meanwhile.
func TestAHandOverTakenBackLaterIsUntested(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	_, err = w.HandOver(registrytest.Ctx, "QX",
		exchange.HandOverOptions{To: "Eldwray", Tags: []registry.Tag{tag}},
		func(*exchange.UnitHistory) error { return nil })
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "EL", tag)
	require.NoError(t, err)
	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
	assert.False(t, w.SafetyStands(m))
	registrytest.VerifiesClean(t, w)
}

// An empty visit to the bench that its own person takes back within minutes is the one exception; another
// person's, a later or a noted one is none.
func TestAnEmptyBenchVisitTakenBackAtOnceKeepsThePass(t *testing.T) {
	for name, c := range map[string]struct {
		note   bench.WorkNote
		by     registry.Initials
		later  time.Duration
		noted  bool          // somebody notes work in between, which is taken back first
		others time.Duration // after which somebody logs another machine
		stands bool
	}{
		"at once":          {by: "QX", stands: true},
		"by somebody else": {by: "EL"},
		"with a job":       {note: bench.WorkNote{Jobs: []string{"clean"}}, by: "QX"},
		"noted in between": {by: "QX", noted: true},
		"minutes later":    {by: "QX", later: 5 * time.Minute, stands: true},
		"with a note": {note: bench.WorkNote{Note: "new cord and plug fitted"},
			by: "QX"},
		"ten minutes later":                     {by: "QX", later: 10 * time.Minute, stands: true},
		"a moment after":                        {by: "QX", later: 10*time.Minute + time.Millisecond},
		"a clock set back":                      {by: "QX", later: -time.Hour, stands: true},
		"a clock set back after others went on": {by: "QX", later: -time.Hour, others: 11 * time.Minute},
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.Workshop(t)
			now := w.Now().Truncate(time.Millisecond)
			w.Now = func() time.Time { return now }
			tag := registrytest.Put(t, w, registry.Electric,
				func(m *stock.Machine) { m.Stage = registry.Check })
			_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
			require.NoError(t, err)
			_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
			require.NoError(t, err)
			_, err = w.BenchStart(registrytest.Ctx, "QX", tag, c.note)
			require.NoError(t, err)
			if c.noted {
				_, err = w.BenchNote(registrytest.Ctx, "QX", tag, bench.WorkNote{Note: "opened the plug"})
				require.NoError(t, err)
				_, err = w.UndoOn(registrytest.Ctx, c.by, tag)
				require.NoError(t, err)
			}
			if c.others > 0 {
				w.Now = func() time.Time { return now.Add(c.others) }
				require.NoError(t, w.Log(registrytest.Ctx, "RS", registrytest.Machine("B2"), true))
			}
			w.Now = func() time.Time { return now.Add(c.later) }
			_, err = w.UndoOn(registrytest.Ctx, c.by, tag)
			require.NoError(t, err)
			m, err := w.Machine(registrytest.Ctx, tag)
			require.NoError(t, err)
			assert.Equal(t, c.stands, w.SafetyStands(m))
			assert.Equal(t, c.stands, m.Stage == registry.Ready, m.Stage)
			registrytest.VerifiesClean(t, w)
		})
	}
}

// Whatever was moved or taken between going to the bench and taking that back ends the pass, also where each
// step was taken back in its turn.
func TestAVisitInWhichAPartWasMovedKeepsNoPass(t *testing.T) {
	cord := func(by registry.Initials) func(*testing.T, *house.Workshop, registry.Tag) {
		return func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, err := w.SayMains(registrytest.Ctx, by, tag,
				[]stock.PartSaid{{Part: "cord", State: mains.Off}})
			require.NoError(t, err)
			_, err = w.UndoOn(registrytest.Ctx, by, tag)
			require.NoError(t, err)
		}
	}
	for name, between := range map[string]func(*testing.T, *house.Workshop, registry.Tag){
		"its own person took the cord off": cord("QX"),
		"somebody else took the cord off":  cord("EL"),
		"a motor was taken while for parts": func(t *testing.T, w *house.Workshop, tag registry.Tag) {
			_, err := w.Triage(registrytest.Ctx, "QX", tag, "parts", "rusted", "RS")
			require.NoError(t, err)
			_, _, err = w.TakeSpare(registrytest.Ctx, "QX", tag, "motor", "drawer 2")
			require.NoError(t, err)
			for range 2 {
				_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
				require.NoError(t, err)
			}
		},
		"it was for parts, and somebody else took that back": func(t *testing.T, w *house.Workshop,
			tag registry.Tag) {
			_, err := w.Triage(registrytest.Ctx, "QX", tag, "parts", "rusted", "RS")
			require.NoError(t, err)
			_, err = w.UndoOn(registrytest.Ctx, "EL", tag)
			require.NoError(t, err)
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.Workshop(t)
			tag := readyElectric(t, w)
			_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
			require.NoError(t, err)
			between(t, w, tag)
			_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
			require.NoError(t, err)
			m, err := w.Machine(registrytest.Ctx, tag)
			require.NoError(t, err)
			assert.Equal(t, registry.Check, m.Stage)
			assert.False(t, w.SafetyStands(m))
			registrytest.VerifiesClean(t, w)
		})
	}
}

// What was sold, scrapped or given for parts comes back untested by undoing, as it does by triage; a slip that
// its own person takes back within minutes, with nothing taken off meanwhile, is the one exception.
func TestWhatWentAwayComesBackUntested(t *testing.T) {
	for name, c := range map[string]struct {
		way    string
		by     registry.Initials
		later  time.Duration
		taken  bool // a part was taken off meanwhile, and that taken back
		stands bool
	}{
		"sold, by somebody else":      {way: "sale", by: "KC"},
		"scrapped, by somebody else":  {way: "scrap", by: "KC"},
		"for parts, by somebody else": {way: "parts", by: "KC"},
		"sold, too late":              {way: "sale", by: "QX", later: 11 * time.Minute},
		"for parts, and a part taken": {way: "parts", by: "QX", taken: true},
		"sold, at once":               {way: "sale", by: "QX", stands: true},
		"scrapped, at once":           {way: "scrap", by: "QX", stands: true},
		"for parts, at once":          {way: "parts", by: "QX", stands: true},
	} {
		for _, drive := range []registry.Drive{registry.Electric, registry.Hand} {
			t.Run(name+" "+string(drive), func(t *testing.T) {
				w := registrytest.Workshop(t)
				now := w.Now().Truncate(time.Millisecond)
				w.Now = func() time.Time { return now }
				tag := ready(t, w, drive)
				_, err := w.Triage(registrytest.Ctx, "QX", tag, c.way, "x", "RS")
				require.NoError(t, err)
				if c.taken {
					_, _, err = w.TakeSpare(registrytest.Ctx, "QX", tag, "handwheel", "drawer 2")
					require.NoError(t, err)
					_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
					require.NoError(t, err)
				}
				w.Now = func() time.Time { return now.Add(c.later) }
				_, err = w.UndoOn(registrytest.Ctx, c.by, tag)
				require.NoError(t, err)
				m, err := w.Machine(registrytest.Ctx, tag)
				require.NoError(t, err)
				want := registry.Check
				if c.stands {
					want = registry.Ready
				}
				assert.Equal(t, want, m.Stage)
				assert.Equal(t, c.stands, !m.TestedAt.IsZero())
				assert.Equal(t, c.stands && drive == registry.Electric, w.SafetyStands(m))
				registrytest.VerifiesClean(t, w)
			})
		}
	}
}
