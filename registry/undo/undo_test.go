package undo_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/registry/undo"
)

// Undoing step by step goes back through every state, exactly.
func TestUndoGoesBackThroughEveryState(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Test.SecondPerson = nil // one person does it all here
	m := &stock.Machine{Maker: "Ostermann", Serial: "none", Drive: registry.Electric}
	require.NoError(t, w.Log(registrytest.Ctx, "EL", m, true))
	tag := m.Tag
	var states []*stock.Machine
	do := func(act func() error) {
		t.Helper()
		now, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		states = append(states, now)
		require.NoError(t, act())
	}
	do(func() error {
		_, err := w.Triage(registrytest.Ctx, "EL", tag, "refurbish", "complete", "RS")
		return err
	})
	do(func() error {
		_, err := w.BenchStart(registrytest.Ctx, "EL", tag, bench.WorkNote{Minutes: 5})
		return err
	})
	do(func() error {
		_, _, err := w.FitSpare(registrytest.Ctx, "EL", tag, spares.PartUse{Part: "handwheel", Bought: true})
		return err
	})
	do(func() error { _, err := w.BenchFinish(registrytest.Ctx, "EL", tag, bench.WorkNote{}); return err })
	do(func() error {
		_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
		return err
	})
	do(func() error {
		_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
		return err
	})
	do(func() error {
		_, _, err := w.Test(registrytest.Ctx, "EL", tag, bench.TestForm{PassAll: true})
		return err
	})
	do(func() error { _, err := w.Hold(registrytest.Ctx, "EL", tag, "owner to be found"); return err })
	do(func() error {
		_, err := w.Amend(registrytest.Ctx, "EL", tag, "",
			func(m *stock.Machine) error { m.Weight = 12_500; m.Seen = registry.List[int]{1931}; return nil })
		return err
	})
	for i := len(states) - 1; i >= 0; i-- {
		undoing := func() (*undo.Undone, error) { return w.Undo(registrytest.Ctx, "EL") }
		if i%2 == 0 {
			undoing = func() (*undo.Undone, error) { return w.UndoOn(registrytest.Ctx, "EL", tag) }
		}
		done, err := undoing()
		require.NoError(t, err)
		assert.Equal(t, []string{string(tag)}, done.Subjects)
		now, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		assert.Equal(t, states[i], now, "after undoing %s", done.Action)
	}
	// What was undone counts nowhere.
	tests, err := w.SafetyTests(registrytest.Ctx, "")
	require.NoError(t, err)
	assert.Empty(t, tests)
	// The last undo takes the machine itself out of the house; its tag is never given again.
	_, err = w.Undo(registrytest.Ctx, "EL")
	require.NoError(t, err)
	_, err = w.Machine(registrytest.Ctx, tag)
	assert.Equal(t, registry.NotFound, registry.CodeOf(err))
	next := &stock.Machine{Maker: "Ostermann", Serial: "none", Drive: registry.Hand}
	require.NoError(t, w.Log(registrytest.Ctx, "EL", next, true))
	assert.NotEqual(t, tag, next.Tag)
	_, err = w.Undo(registrytest.Ctx, "ZZ")
	assert.ErrorContains(t, err, "ZZ has done nothing here that could be undone")
}

func TestUndoRefusesWhatOthersBuiltOn(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Queued })
	_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
	_, err = w.BenchNote(registrytest.Ctx, "MB", tag, bench.WorkNote{Note: "tensioned"})
	require.NoError(t, err)
	_, err = w.Undo(registrytest.Ctx, "QX")
	assert.ErrorContains(t, err, "bench start of "+string(tag)+" by QX cannot be undone: MB did bench note")
	// Once the other's is undone, the first can be.
	_, err = w.Undo(registrytest.Ctx, "MB")
	require.NoError(t, err)
	_, err = w.Undo(registrytest.Ctx, "QX")
	require.NoError(t, err)
	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Queued, m.Stage)
}

// A part moved between two machines rests on both.
func TestUndoOfAFitTouchesBothMachines(t *testing.T) {
	w := registrytest.Workshop(t)
	donor := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Parts })
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, s, err := w.TakeSpare(registrytest.Ctx, "QX", donor, "handwheel", "drawer 2")
	require.NoError(t, err)
	_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "handwheel", From: s.Code()})
	require.NoError(t, err)
	done, err := w.UndoOn(registrytest.Ctx, "QX", donor)
	require.NoError(t, err)
	assert.Equal(t, "spare fit", done.Action)
	assert.ElementsMatch(t, []string{string(donor), string(tag)}, done.Subjects)
	on, err := w.SpareShelf(registrytest.Ctx)
	require.NoError(t, err)
	require.Len(t, on.SpareShelf, 1)
	assert.Equal(t, "drawer 2", on.SpareShelf[0].Place)
}

// A machine that was stripped on its way from the bench has no function test either, whatever its drive.
func TestABenchVisitThatLedToThePartsShelfLeavesNoTest(t *testing.T) {
	for _, drive := range []registry.Drive{registry.Electric, registry.Hand} {
		w := registrytest.Workshop(t)
		tag := ready(t, w, drive)
		_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = w.Triage(registrytest.Ctx, "QX", tag, "parts", "rusted", "RS")
		require.NoError(t, err)
		_, _, err = w.TakeSpare(registrytest.Ctx, "QX", tag, "handwheel", "drawer 2")
		require.NoError(t, err)
		for range 3 {
			_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
			require.NoError(t, err)
		}
		m, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		assert.Equal(t, registry.Check, m.Stage, drive)
		assert.True(t, m.TestedAt.IsZero(), drive)
		registrytest.VerifiesClean(t, w)
	}
}

func ready(t *testing.T, w *house.Workshop, drive registry.Drive) registry.Tag {
	t.Helper()
	if drive == registry.Electric {
		return readyElectric(t, w)
	}
	tag := registrytest.Put(t, w, drive, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	return tag
}

func readyElectric(t *testing.T, w *house.Workshop) registry.Tag {
	t.Helper()
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	return tag
}

// A failed function test that is taken back leads to a new test, of whatever drive.
func TestAFailedTestIsNeverUndoneIntoReady(t *testing.T) {
	for _, drive := range registry.Drives {
		w := registrytest.Workshop(t)
		tag := registrytest.Put(t, w, drive, func(m *stock.Machine) { m.Stage = registry.Check })
		if drive == registry.Electric {
			_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
			require.NoError(t, err)
		}
		_, _, err := w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
		require.NoError(t, err)
		_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true, Danger: true,
			Fail: map[string]string{"tension": "sparks, trips the breaker"}})
		require.NoError(t, err)
		m, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		if drive == registry.Electric {
			assert.Equal(t, registry.Held, m.Stage)
			assert.Contains(t, m.UnsafeWhy, "trips the breaker")
			_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
			assert.ErrorContains(t, err, "competent people")
		}
		_, err = w.UndoOn(registrytest.Ctx, "EL", tag)
		require.NoError(t, err)
		m, err = w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		assert.Equal(t, registry.Check, m.Stage, drive)
		assert.True(t, m.TestedAt.IsZero())
		assert.True(t, m.SafetyAt.IsZero())
		registrytest.VerifiesClean(t, w)
	}
}

func TestOnlyTheCompetentUndoAFailedSafetyTest(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
	assert.ErrorContains(t, err, "who alone may undo a failed safety test (on it: EL): ask one of them")
	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Held, m.Stage)
	_, err = w.UndoOn(registrytest.Ctx, "EL", tag)
	require.NoError(t, err)
	m, err = w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
}

// Whoever logged a machine does not make its failed test forgotten by logging it anew.
func TestOnlyTheCompetentUndoTheLoggingOfWhatWasTested(t *testing.T) {
	w := registrytest.Workshop(t)
	m := &stock.Machine{Maker: "Ostermann", Serial: "none", Drive: registry.Electric}
	require.NoError(t, w.Log(registrytest.Ctx, "QX", m, true))
	_, _, err := w.Safety(registrytest.Ctx, "EL", m.Tag, registrytest.FailedSafety())
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "EL", m.Tag)
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "QX", m.Tag)
	assert.ErrorContains(t, err, "who alone may undo the logging of a machine that had a safety test")
	_, err = w.Machine(registrytest.Ctx, m.Tag)
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "EL", m.Tag)
	require.NoError(t, err)
	_, err = w.Machine(registrytest.Ctx, m.Tag)
	assert.Equal(t, registry.NotFound, registry.CodeOf(err))
	untested := &stock.Machine{Maker: "Ostermann", Serial: "none", Drive: registry.Electric}
	require.NoError(t, w.Log(registrytest.Ctx, "QX", untested, true))
	_, err = w.UndoOn(registrytest.Ctx, "QX", untested.Tag)
	require.NoError(t, err)
}

// However three people work, correct, convert and undo, an electric machine in stock has a passed safety test
// as its last one, and no electrical work after it. This reads the tests and the work themselves, not what
// the machine keeps of them.
func TestReadyElectricsAreTestedAfterTheirLastElectricalWork(t *testing.T) {
	w := registrytest.Workshop(t)
	random := rand.New(rand.NewPCG(11, 5))
	people := []registry.Initials{"QX", "RS", "EL"}
	ready, undone := 0, 0
	drive := func(to registry.Drive) func(*stock.Machine) error {
		return func(m *stock.Machine) error {
			m.Drive = to
			return nil
		}
	}
	for range 12 {
		tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Queued })
		for range 60 {
			by := people[random.IntN(3)]
			to := registry.Drives[random.IntN(3)]
			var err error
			switch random.IntN(20) {
			case 0, 1, 2:
				_, err = w.BenchStart(registrytest.Ctx, by, tag, bench.WorkNote{})
			case 3, 4, 5:
				_, err = w.BenchFinish(registrytest.Ctx, by, tag, bench.WorkNote{})
			case 6, 7, 8:
				_, _, err = w.Test(registrytest.Ctx, by, tag, bench.TestForm{PassAll: true})
			case 9, 10, 11:
				_, _, err = w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
			case 12:
				_, _, err = w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
			case 13:
				_, _, err = w.FitSpare(registrytest.Ctx, by, tag,
					spares.PartUse{Part: "foot-control", Bought: true})
			case 14:
				_, err = w.Convert(registrytest.Ctx, by, tag, spares.Conversion{To: to})
			case 15:
				_, err = w.Convert(registrytest.Ctx, by, tag, spares.Conversion{To: registry.Electric})
			case 16:
				_, err = w.Amend(registrytest.Ctx, by, tag, "", drive(to))
			case 17:
				_, err = w.BenchNote(registrytest.Ctx, by, tag, bench.WorkNote{Jobs: []string{"motor-leads"}})
			case 18:
				var last *registry.Action
				require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
					last, err = r.LastAction("", string(tag))
					return err
				}))
				if last.Verb == "set up" {
					break
				}
				if _, err = w.UndoOn(registrytest.Ctx, by, tag); err == nil {
					undone++
				}
			case 19:
				if _, err = w.Hold(registrytest.Ctx, by, tag, "x"); err == nil {
					_, err = w.Release(registrytest.Ctx, by, tag, "")
				}
			}
			if err != nil {
				require.NotEmpty(t, registry.CodeOf(err), "%v", err)
			}
			m, err := w.Machine(registrytest.Ctx, tag)
			require.NoError(t, err)
			if m.Drive != registry.Electric || m.Stage != registry.Ready {
				continue
			}
			ready++
			require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) error {
				var tests []bench.SafetyTest
				var works []bench.Work
				require.NoError(t, r.All(&tests, stock.Fields{"tag": tag}))
				require.NoError(t, r.All(&works, stock.Fields{"tag": tag}))
				require.NotEmpty(t, tests)
				last := tests[len(tests)-1]
				require.True(t, last.Pass)
				for _, k := range works {
					require.False(t, bool(k.Electrical) && k.At.After(last.At), "%s after the pass", k.Did)
				}
				return nil
			}))
		}
	}
	assert.Greater(t, ready, 10, "the trials have to get there")
	assert.Greater(t, undone, 10)
	registrytest.VerifiesClean(t, w)
}

// Random work by three people and random undoing leaves a registry whose history replays, whatever was done.
func TestHistoryReplaysAfterUndoing(t *testing.T) {
	w := registrytest.Workshop(t)
	random := rand.New(rand.NewPCG(9, 4))
	people := []registry.Initials{"QX", "RS", "EL"}
	var tags []registry.Tag
	for range 4 {
		tags = append(tags,
			registrytest.Put(t, w, registry.Drives[random.IntN(3)],
				func(m *stock.Machine) { m.Stage = registry.Queued }))
	}
	undone := 0
	for range 300 {
		by, tag := people[random.IntN(3)], tags[random.IntN(len(tags))]
		var err error
		switch random.IntN(8) {
		case 0:
			_, err = w.BenchStart(registrytest.Ctx, by, tag, bench.WorkNote{})
		case 1:
			_, err = w.BenchNote(registrytest.Ctx, by, tag, bench.WorkNote{Jobs: []string{"oil"}, Minutes: 3})
		case 2:
			_, err = w.BenchFinish(registrytest.Ctx, by, tag, bench.WorkNote{})
		case 3:
			_, _, err = w.Test(registrytest.Ctx, by, tag, bench.TestForm{PassAll: true})
		case 4:
			_, _, err = w.Safety(registrytest.Ctx, by, tag, registrytest.GoodSafety())
		case 5:
			_, err = w.NeedSpare(registrytest.Ctx, by, tag, "feed-dog")
		case 6:
			_, _, err = w.FitSpare(registrytest.Ctx, by, tag, spares.PartUse{Part: "feed-dog", Bought: true})
		case 7:
			if _, err = w.Undo(registrytest.Ctx, by); err == nil {
				undone++
			}
		}
		if err != nil {
			require.NotEmpty(t, registry.CodeOf(err), "%v", err)
		}
	}
	assert.Greater(t, undone, 10)
	registrytest.VerifiesClean(t, w)
}

func TestVerifyFindsPassedGates(t *testing.T) {
	for name, c := range map[string]struct{ hurt, what string }{
		"electric without a pass": {"UPDATE machine SET safety_at = ''",
			"is electric and ready without a safety pass"},
		"untested": {"UPDATE machine SET tested_at = ''",
			"is ready without a function test that stands"},
		"taken twice": {`INSERT INTO spare (part, taken_from, maker, model, taken_at, taken_by, place, fitted_to, fitted_at, fitted_by, replaced)
			SELECT 'feed-dog', tag, '', '', '1', 'QX', '', '', '', '', 0 FROM machine, (SELECT 1 UNION SELECT 2)`, "its feed-dog was taken off it 2 times, and it had 1"},
		"fitted by half": {`INSERT INTO spare (part, taken_from, maker, model, taken_at, taken_by, place, fitted_to, fitted_at, fitted_by, replaced)
			VALUES ('feed-dog', '', '', '', '1', 'QX', '', 'PM16', '', '', 0)`, "is fitted by half"},
	} {
		t.Run(name, func(t *testing.T) {
			w, path := registrytest.WorkshopAt(t)
			tag := registrytest.Put(t, w, registry.Electric,
				func(m *stock.Machine) { m.Stage = registry.Check })
			_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
			require.NoError(t, err)
			_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
			require.NoError(t, err)
			registrytest.VerifiesClean(t, w)
			raw := registrytest.Raw(t, path)
			_, err = raw.Exec(c.hurt)
			require.NoError(t, err)
			faults, err := w.Store.(*sqlite.DB).Verify(registrytest.Ctx, "PM", nil)
			require.NoError(t, err)
			var said []string
			for _, f := range faults {
				said = append(said, f.What)
			}
			assert.Contains(t, strings.Join(said, "\n"), c.what)
		})
	}
}
