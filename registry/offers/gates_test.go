package offers_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

var Ctx = context.Background()

// Every action at every stage, against a table written out by hand: where it leads, "." where it is refused.
// A refusal changes nothing. The electric machine in these trials has a standing safety pass, and is held
// from check.
func TestEveryActionAtEveryStage(t *testing.T) {
	columns := []registry.Stage{"logged", "queued", "bench", "check", "ready", "reserved", "packed",
		"shipped", "parts", "sold", "scrapped", "held"}
	triage := func(to string) func(*house.Workshop, registry.Tag) error {
		return func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.Triage(Ctx, "QX", tag, to, "a reason", "")
			return err
		}
	}
	actions := []struct {
		name string
		do   func(*house.Workshop, registry.Tag) error
		want string // one word a stage
	}{
		{"triage refurbish", triage("refurbish"), "queued . . . . . . . queued queued queued ."},
		{"triage parts", triage("parts"), "parts parts parts parts parts . . . . parts parts parts"},
		{"triage sale", triage("sale"), "sold sold sold sold sold . . . . . . sold"},
		{"triage scrap", triage("scrap"),
			"scrapped scrapped scrapped scrapped scrapped . . . scrapped . . scrapped"},
		{"bench start", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
			return err
		}, ". bench . bench bench . . . . . . ."},
		{"bench note", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"oil"}})
			return err
		}, ". . bench . . . . . . . . ."},
		{"bench finish", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.BenchFinish(Ctx, "QX", tag, bench.WorkNote{})
			return err
		}, ". . check . . . . . . . . ."},
		{"test pass", func(w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
			return err
		}, ". . . ready ready reserved . . . . . ."},
		{"test fail", func(w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.Test(Ctx, "RS", tag,
				bench.TestForm{PassAll: true, Fail: map[string]string{"tension": "loops below"}})
			return err
		}, ". . . bench bench bench . . . . . ."},
		{"safety pass", func(w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
			return err
		}, "logged queued bench check ready reserved . . . . . held"},
		{"safety fail", func(w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.Safety(Ctx, "EL", tag, registrytest.FailedSafety())
			return err
		}, "held held held held held held . . . . . held"},
		{"convert", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.Convert(Ctx, "QX", tag,
				spares.Conversion{To: registry.Hand, Off: mains.Kinds, Confirmed: "EL"})
			return err
		}, "logged queued bench check check . . . . . . ."},
		{"hold", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.Hold(Ctx, "QX", tag, "a reason")
			return err
		}, "held held held held held held . . . . . ."},
		{"release", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.Release(Ctx, "QX", tag, "")
			return err
		}, ". . . . . . . . . . . check"},
		{"report back", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.ReportBack(Ctx, "QX", tag, packing.Arrival{Note: "arrived well"})
			return err
		}, ". . . . . . . shipped . . . ."},
		{"spare take", func(w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.TakeSpare(Ctx, "QX", tag, "handwheel", "")
			return err
		}, ". . . . . . . . parts . . ."},
		{"spare fit", func(w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: "handwheel", Bought: true})
			return err
		}, ". . bench . . . . . . . . ."},
		{"spare need", func(w *house.Workshop, tag registry.Tag) error {
			_, err := w.NeedSpare(Ctx, "QX", tag, "handwheel")
			return err
		}, ". queued bench check . . . . . . . held"},
	}
	w := registrytest.Workshop(t)
	require.Equal(t, columns, registry.Stages)
	for _, a := range actions {
		want := strings.Fields(a.want)
		require.Len(t, want, len(columns), a.name)
		for i, stage := range columns {
			tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
				m.Stage, m.SafetyAt, m.SafetyBy = stage, w.Now(), "EL"
				if stage == registry.Held {
					m.HeldFrom, m.HeldWhy = registry.Check, "a reason"
				}
			})
			before, err := w.Machine(Ctx, tag)
			require.NoError(t, err)
			offer := offerOf(t, w, before, a.name)
			err = a.do(w, tag)
			assert.Equal(t, err == nil, offer.Allowed, "offered %s at %s, which is answered by: %v", a.name,
				stage, err)
			after, errAfter := w.Machine(Ctx, tag)
			require.NoError(t, errAfter)
			if want[i] != "." {
				assert.NoError(t, err, "%s at %s", a.name, stage)
				assert.Equal(t, registry.Stage(want[i]), after.Stage, "%s at %s", a.name, stage)
				continue
			}
			assert.Equal(t, registry.Conflict, registry.CodeOf(err), "%s at %s: %v", a.name, stage, err)
			assert.ErrorContains(t, err, string(tag)+" is at stage "+string(stage))
			assert.Equal(t, before, after, "%s at %s was refused and yet changed something", a.name, stage)
		}
	}
}

// nextSteps is what a refusal says can be done next.
func nextSteps(t *testing.T, err error) []registry.NextStep {
	t.Helper()
	var refused *registry.Error
	require.ErrorAs(t, err, &refused)
	return refused.Next
}

// What a refusal names as the next step is allowed at that stage: following the hints gets anywhere that can
// be got to.
func TestRefusalsNameTheWay(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(*stock.Machine) {})
	var said []string
	for range 5 {
		_, _, err := w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
		if err == nil {
			break
		}
		hints := nextSteps(t, err)
		require.Len(t, hints, 1)
		require.Equal(t, tag, hints[0].Tag)
		hint := hints[0].Action
		said = append(said, hint)
		switch hint {
		case "triage to refurbish":
			_, err = w.Triage(Ctx, "QX", tag, "refurbish", "complete", "")
		case "bench start":
			_, err = w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
		case "bench finish":
			_, err = w.BenchFinish(Ctx, "QX", tag, bench.WorkNote{})
		default:
			t.Fatalf("no way in %q", hint)
		}
		require.NoError(t, err)
	}
	assert.Len(t, said, 3)
	m, err := w.Machine(Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Ready, m.Stage)
}

// Nothing that people do makes an electric machine ready without a standing safety pass, newer than the last
// electrical work.
func TestNoElectricIsReadyWithoutAPass(t *testing.T) {
	w := registrytest.Workshop(t)
	random := rand.New(rand.NewPCG(7, 7))
	ready := 0
	for range 60 {
		m := &stock.Machine{Maker: "Ostermann", Serial: "none", Drive: registry.Electric}
		require.NoError(t, w.Log(Ctx, "QX", m, true))
		tag, standing := m.Tag, false
		for range 40 {
			var err error
			switch random.IntN(13) {
			case 0:
				_, err = w.Triage(Ctx, "QX", tag, "refurbish", "x", "")
				standing = standing && err != nil
			case 1, 2:
				_, err = w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
			case 3:
				_, err = w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"motor-leads"}})
				standing = standing && err != nil
			case 4, 5:
				_, err = w.BenchFinish(Ctx, "QX", tag, bench.WorkNote{})
			case 6, 7:
				_, _, err = w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
			case 8:
				_, _, err = w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
				standing = standing || err == nil
			case 9:
				_, _, err = w.Safety(Ctx, "EL", tag, registrytest.FailedSafety())
				standing = standing && err != nil
			case 10:
				_, _, err = w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: "foot-control", Bought: true})
				standing = standing && err != nil
			case 11:
				_, err = w.Convert(Ctx, "QX", tag,
					spares.Conversion{To: registry.Hand, Off: mains.Kinds, Confirmed: "EL"})
				if err == nil {
					_, err = w.Convert(Ctx, "QX", tag, spares.Conversion{To: registry.Electric})
					require.NoError(t, err)
					standing = false
				}
			case 12:
				if _, err = w.Hold(Ctx, "QX", tag, "x"); err == nil {
					_, err = w.Release(Ctx, "QX", tag, "")
				}
			}
			if err != nil {
				require.Equal(t, registry.Conflict, registry.CodeOf(err), "%v", err)
			}
			now, err := w.Machine(Ctx, tag)
			require.NoError(t, err)
			// The registry may know of more that cancels a pass; it never knows of one where none stands.
			stands := w.SafetyStands(now)
			require.True(t, standing || !stands)
			if now.Stage == registry.Ready {
				ready++
				require.True(t, standing)
			}
			require.Equal(t, now.TakesMains() && !stands,
				slices.Contains(w.Warnings(now), registry.DoNotPlugIn))
		}
	}
	assert.Greater(t, ready, 20, "the trials have to get there")
}

func TestAPassGrowsOld(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	m, _, err := w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	passed := m.SafetyAt
	w.Now = func() time.Time { return passed.AddDate(0, 0, 365).Add(-time.Second) }
	assert.True(t, w.SafetyStands(m))
	w.Now = func() time.Time { return passed.AddDate(0, 0, 365) }
	assert.False(t, w.SafetyStands(m))
	_, _, err = w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, "safety pass of 2031-05-04 that is too old")
	w.Config.Safety.ValidDays = 0
	assert.True(t, w.SafetyStands(m))
}

// A pass recorded while the clock stood in another year would never grow old. A day is left for the clocks of
// two houses to differ.
func TestAPassAheadOfTheClockDoesNotStand(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	m, _, err := w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	passed := m.SafetyAt
	for _, c := range []struct {
		now    time.Time
		stands bool
	}{
		{passed.AddDate(0, 0, -1), true},
		{passed.AddDate(0, 0, -1).Add(-time.Second), false},
		{passed.AddDate(-60, 0, 0), false},
	} {
		w.Now = func() time.Time { return c.now }
		assert.Equal(t, c.stands, w.SafetyStands(m), c.now)
		assert.Equal(t, !c.stands, slices.Contains(w.Warnings(m), registry.DoNotPlugIn), c.now)
	}
	_, _, err = w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, "safety pass of 2031-05-04 that lies ahead of this computer's clock")
}

// A pass can grow too old while a machine is held; it does not come back to stock with it.
func TestNoReleaseToReadyOnAnOldPass(t *testing.T) {
	w := registrytest.Workshop(t)
	ready := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
		m.Stage, m.HeldFrom, m.HeldWhy, m.SafetyAt = registry.Held, registry.Ready, "a reason", w.Now()
	})
	waits := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
		m.Stage, m.HeldFrom, m.HeldWhy, m.SafetyAt = registry.Held, registry.Check, "a reason", w.Now()
	})
	late := w.Now().AddDate(0, 0, 366)
	w.Now = func() time.Time { return late }
	m, err := w.Release(Ctx, "QX", ready, "")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage, "only as far as its standing tests allow")
	m, err = w.Release(Ctx, "QX", waits, "")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage, "its tests are still to come")
}

// What a machine is refused while a failed safety test holds it names what ends that hold.
func TestAFailedSafetyTestNamesItsEnd(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	why := "is held by a failed safety test (visual: failed): it is mended on the bench"
	ends := []registry.NextStep{registry.Next("bench start after a failed safety test", tag),
		registry.Next(registry.DoSafetyResult, tag)}
	_, _, err = w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, why)
	assert.Equal(t, ends, nextSteps(t, err))
	_, err = w.Release(Ctx, "QX", tag, "")
	assert.ErrorContains(t, err, why)
	assert.Equal(t, ends, nextSteps(t, err))
	_, err = w.Amend(Ctx, "QX", tag, "", func(m *stock.Machine) error {
		m.Drive = registry.Hand
		return nil
	})
	assert.ErrorContains(t, err, "drive of "+string(tag)+
		" is electric, and only whoever logged it may correct that")
}

// What counts no longer leaves no trace on the machine: whoever reads it sees only what still speaks for it.
func TestOldTestsLeaveTheMachine(t *testing.T) {
	w := registrytest.Workshop(t)
	tested := func(m *stock.Machine) {
		m.Stage, m.TestedAt, m.TestedBy, m.SafetyAt, m.SafetyBy = registry.Ready, w.Now(), "RS", w.Now(), "EL"
	}
	for _, c := range []struct {
		name  string
		do    func(registry.Tag) (*stock.Machine, error)
		stage registry.Stage // before; "" = ready
		safe  bool           // afterwards
	}{
		{"bench start", func(tag registry.Tag) (*stock.Machine, error) {
			return w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
		}, "", false},
		{"a failed test", func(tag registry.Tag) (*stock.Machine, error) {
			m, _, err := w.Test(Ctx, "RS", tag,
				bench.TestForm{PassAll: true, Fail: map[string]string{"tension": "loops below"}})
			return m, err
		}, "", false},
		{"back from the scrap", func(tag registry.Tag) (*stock.Machine, error) {
			return w.Triage(Ctx, "QX", tag, "refurbish", "a reason", "")
		}, registry.Scrapped, false},
	} {
		tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
			if tested(m); c.stage != "" {
				m.Stage = c.stage
			}
		})
		m, err := c.do(tag)
		require.NoError(t, err, c.name)
		assert.True(t, m.TestedAt.IsZero(), c.name)
		assert.Empty(t, m.TestedBy, c.name)
		assert.Equal(t, c.safe, w.SafetyStands(m), c.name)
	}
}

// Electrical work is kept as such, so that anybody can set it beside the safety tests later.
func TestElectricalWorkIsKeptAsSuch(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, err := w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"oil"}})
	require.NoError(t, err)
	_, err = w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"oil", "rewire", "clean"}})
	require.NoError(t, err)
	for _, part := range []string{"handwheel", "motor"} {
		_, _, err = w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: part, Bought: true})
		require.NoError(t, err)
	}
	_, err = w.Convert(Ctx, "QX", tag, spares.Conversion{To: registry.Hand})
	require.ErrorContains(t, err, "still has parts on it that take the mains, or may: motor fitted")
	_, err = w.Convert(Ctx, "QX", tag, spares.Conversion{To: registry.Hand, Off: mains.Kinds})
	require.ErrorContains(t, err, "who alone may confirm that nothing on a machine takes the mains any more")
	_, err = w.Convert(Ctx, "QX", tag,
		spares.Conversion{To: registry.Hand, Off: mains.Kinds, Confirmed: "EL"})
	require.NoError(t, err)
	_, err = w.Convert(Ctx, "QX", tag, spares.Conversion{To: registry.Treadle})
	require.NoError(t, err)
	var works []bench.Work
	require.NoError(t,
		w.Store.View(Ctx, func(r stock.Reader) error { return r.All(&works, stock.Fields{"tag": tag}) }))
	var electrical []bool
	for _, k := range works {
		electrical = append(electrical, k.Electrical)
	}
	assert.Equal(t, []bool{false, true, false, true, true, false}, electrical)
}

func TestSecondPersonByDrive(t *testing.T) {
	w := registrytest.Workshop(t)
	for _, drive := range registry.Drives {
		tag := registrytest.Put(t, w, drive,
			func(m *stock.Machine) { m.Stage, m.SafetyAt = registry.Queued, w.Now() })
		_, err := w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = w.BenchNote(Ctx, "MB", tag, bench.WorkNote{Note: "tensioned"})
		require.NoError(t, err)
		_, err = w.BenchFinish(Ctx, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
		for _, by := range []registry.Initials{"QX", "MB", "RS"} {
			_, err := w.MayTest(Ctx, by, tag)
			if drive == registry.Electric {
				assert.ErrorContains(t, err, "has no safety pass", "any bench visit cancels it")
			} else if by != "RS" {
				assert.ErrorContains(t, err, string(by)+" worked on "+string(tag))
			} else {
				assert.NoError(t, err)
			}
		}
	}
	w.Config.Test.SecondPerson = nil
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	_, err := w.MayTest(Ctx, "QX", tag)
	assert.NoError(t, err)
}

func TestHeritageIsLookedAtTwice(t *testing.T) {
	w := registrytest.Workshop(t) // in 2031, with a limit of 100 years
	year := func(y int) *int { return &y }
	for _, c := range []struct {
		name         string
		to           *int
		way          string
		by, seenBy   registry.Initials
		says         string
		seenRecorded bool
	}{
		{"old and stripped", year(1931), "parts", "QX", "", "is at least 100 years old", false},
		{"old and scrapped", year(1858), "scrap", "QX", "", "is at least 173 years old", false},
		{"seen by another", year(1858), "scrap", "QX", "RS", "", true},
		{"seen by the same", year(1858), "scrap", "QX", "QX", "same person as who acts", false},
		{"not a way that the house names", year(1858), "sale", "QX", "", "", false},
		{"probably old enough", year(1940), "scrap", "QX", "", "is probably about 136 years old", false},
		{"a year short", year(1932), "scrap", "QX", "", "", false},
		{"may be younger", nil, "scrap", "QX", "", "", false},
		{"seen though nobody asked", nil, "refurbish", "QX", "QX", "", true},
	} {
		tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) {
			if m.From, m.To = year(1850), c.to; c.name == "a year short" {
				m.From = c.to
			}
		})
		m, err := w.Triage(Ctx, c.by, tag, c.way, "a reason", c.seenBy)
		if c.says != "" {
			assert.ErrorContains(t, err, c.says, c.name)
			continue
		}
		require.NoError(t, err, c.name)
		assert.Equal(t, c.seenRecorded, m.HeritageSeenBy != "", c.name)
	}
}

// Every part is in one place at a time: on the machine it was made with, on the shelf, or in one other
// machine; nothing is fitted twice and nothing is lost. The model keeps its own books beside the registry's.
func TestSparesAreConserved(t *testing.T) {
	w := registrytest.Workshop(t)
	random := rand.New(rand.NewPCG(3, 1))
	parts := []string{"handwheel", "needle-bar", "feed-dog"}
	var tags []registry.Tag
	for i := range 6 {
		stage := registry.Parts
		if i >= 3 {
			stage = registry.Bench
		}
		tags = append(tags, registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = stage }))
	}
	type slot struct {
		tag  registry.Tag
		part string
	}
	there := map[slot]bool{}
	for _, tag := range tags {
		for _, part := range parts {
			there[slot{tag, part}] = true
		}
	}
	shelf := map[string]string{} // code → part
	used := map[string]bool{}
	taken, fitted := 0, 0
	for range 400 {
		tag, part := tags[random.IntN(len(tags))], parts[random.IntN(len(parts))]
		m, err := w.Machine(Ctx, tag)
		require.NoError(t, err)
		switch random.IntN(4) {
		case 0, 1:
			_, s, err := w.TakeSpare(Ctx, "QX", tag, part, "")
			if m.Stage != registry.Parts || !there[slot{tag, part}] {
				require.Error(t, err)
				continue
			}
			require.NoError(t, err)
			there[slot{tag, part}] = false
			shelf[s.Code()] = part
			taken++
		case 2:
			// Any code there ever was, right or wrong, in any machine.
			code := fmt.Sprintf("S%d", 1+random.IntN(len(shelf)+len(used)+1))
			_, _, err := w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: part, From: code})
			if m.Stage != registry.Bench || shelf[code] != part {
				require.Error(t, err)
				continue
			}
			require.NoError(t, err)
			delete(shelf, code)
			require.False(t, used[code], "fitted twice")
			used[code] = true
			there[slot{tag, part}] = true
			fitted++
		case 3:
			// Machines change sides: what was mended is stripped one day.
			to := map[registry.Stage]registry.Stage{registry.Parts: registry.Bench,
				registry.Bench: registry.Parts}[m.Stage]
			require.NoError(t,
				w.Store.Update(Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "set up"},
					func(tx stock.Tx) error {
						m.Stage = to
						return tx.Put(m)
					}))
		}
		on, err := w.SpareShelf(Ctx)
		require.NoError(t, err)
		var codes []string
		for _, s := range on.SpareShelf {
			codes = append(codes, s.Code())
			require.Equal(t, shelf[s.Code()], s.Part)
		}
		require.Len(t, codes, len(shelf))
		_, left, err := w.LeftOn(Ctx, tag)
		require.NoError(t, err)
		for _, part := range parts {
			require.Equal(t, there[slot{tag, part}],
				slices.ContainsFunc(left, func(p spares.PartKind) bool { return p.Part == part }), "%s on %s",
				part, tag)
		}
	}
	assert.Greater(t, taken, 10)
	assert.Greater(t, fitted, 5)
}

func TestSmallThingsAreCounted(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, _, err := w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: "winder-tyre"})
	assert.ErrorContains(t, err, "no winder-tyre is left")
	_, err = w.CountSupply(Ctx, "QX", "winder-tyre", 2)
	require.NoError(t, err)
	for range 2 {
		_, _, err = w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: "winder-tyre"})
		require.NoError(t, err)
	}
	_, _, err = w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: "winder-tyre"})
	assert.ErrorContains(t, err, "no winder-tyre is left")
	_, err = w.CountSupply(Ctx, "QX", "handwheel", 2)
	assert.ErrorContains(t, err, "moves one by one")
	_, err = w.CountSupply(Ctx, "QX", "winder-tyre", -1)
	assert.ErrorContains(t, err, "from 0 to 1000000")
}

func TestNeedsAreMetByFitting(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, err := w.NeedSpare(Ctx, "QX", tag, "handwheel")
	require.NoError(t, err)
	_, err = w.NeedSpare(Ctx, "QX", tag, "handwheel")
	assert.ErrorContains(t, err, "waits for a handwheel already")
	needs, err := w.Needs(Ctx)
	require.NoError(t, err)
	require.Len(t, needs, 1)
	assert.Zero(t, needs[0].OnShelf)
	list, err := w.Worklist(Ctx, "coordinator")
	require.NoError(t, err)
	assert.Equal(t, "find handwheel", list.Tasks[0].Do)

	donor := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Parts })
	_, _, err = w.TakeSpare(Ctx, "QX", donor, "handwheel", "drawer 2")
	require.NoError(t, err)
	list, err = w.Worklist(Ctx, "bench")
	require.NoError(t, err)
	assert.Equal(t, "fit handwheel", list.Tasks[0].Do)
	_, _, err = w.FitSpare(Ctx, "QX", tag, spares.PartUse{Part: "handwheel"})
	require.NoError(t, err)
	needs, err = w.Needs(Ctx)
	require.NoError(t, err)
	assert.Empty(t, needs)
}

// A machine that an order counts on leaves it at once when a failed test holds it: the place is free, the
// order keeps why, and a pass brings the machine back to stock and not to the order.
func TestAPromisedMachineThatFailsLeavesItsOrder(t *testing.T) {
	w := registrytest.Workshop(t)
	o := &orders.Order{Partner: "Bridge Street", Due: "2031-06-01", Supply: "230V/50Hz/G"}
	require.NoError(t, w.OpenOrder(Ctx, "QX", o))
	require.NoError(t,
		w.AddLine(Ctx, "QX", &orders.OrderLine{Order: o.Number, Wanted: orders.ElectricOne, Asked: 1}))
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Ready })
	m, _, err := w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	m.Plate.Plug = "G"
	require.NoError(t,
		w.Store.Update(Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "set up"},
			func(tx stock.Tx) error { return tx.Put(m) }))
	require.NoError(t, w.Reserve(Ctx, "QX", "", []orders.Reservation{{Order: o.Number, Line: 1, Head: *m}}))
	for range 2 {
		_, _, err = w.Safety(Ctx, "EL", tag, registrytest.FailedSafety())
		require.NoError(t, err)
		v, err := w.ViewOrder(Ctx, o.Number)
		require.NoError(t, err)
		assert.Empty(t, v.Sets, "its place is free")
		require.Len(t, v.Lost, 1)
		assert.Contains(t, v.Lost[0].OutWhy, string(tag)+": failed safety test")
		m, _, err = w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
		require.NoError(t, err)
		assert.Equal(t, registry.Ready, m.Stage)
	}
	_, _, err = w.Safety(Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	m, err = w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
	assert.Equal(t, registry.Bench, m.Stage)
	assert.Empty(t, string(m.HeldFrom)+m.HeldWhy+m.UnsafeWhy, "nothing of the hold is left")
	var work []bench.Work
	require.NoError(t,
		w.Store.View(Ctx, func(r stock.Reader) error { return r.All(&work, stock.Fields{"tag": tag}) }))
	assert.Equal(t, work[len(work)-1].At, m.StageSince)
}

// Whoever is not on the house's list records no safety test, passed or failed, and hears so before the first
// question.
func TestOnlyTheCompetentRecordASafetyTest(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	says := "QX is not on the house's list of competent people, who alone may record a safety test (on it: " +
		"EL)"
	_, err := w.MayTestSafety(Ctx, "QX", tag)
	assert.ErrorContains(t, err, says)
	for _, form := range []electrical.SafetyForm{registrytest.GoodSafety(), registrytest.FailedSafety()} {
		_, _, err := w.Safety(Ctx, "QX", tag, form)
		assert.ErrorContains(t, err, says)
	}
	tests, err := w.SafetyTests(Ctx, "")
	require.NoError(t, err)
	assert.Empty(t, tests)
}

// A person's hold and a failed safety test are two reasons; each ends by itself.
func TestTwoReasonsToHold(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, err := w.Hold(Ctx, "QX", tag, "waiting for a part")
	require.NoError(t, err)
	m, _, err := w.Safety(Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.HeldFrom)
	_, err = w.Release(Ctx, "QX", tag, "")
	assert.ErrorContains(t, err, "failed safety test")
	m, _, err = w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	assert.Equal(t, registry.Held, m.Stage, "the part is still missing")
	assert.Equal(t, "waiting for a part", m.HeldWhy)
	m, err = w.Release(Ctx, "QX", tag, "")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
	assert.True(t, w.SafetyStands(m))
}

// A conversion leaves nothing of the tests of the old drive, and nothing of a motor that is gone.
func TestConvertingStartsTheTestsAgain(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	m, _, err := w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	require.False(t, m.TestedAt.IsZero())
	m, err = w.Convert(Ctx, "QX", tag,
		spares.Conversion{To: registry.Hand, Fit: []spares.PartUse{{Part: "hand-crank", Bought: true}},
			Remove: []string{"motor"},
			Off:    mains.Kinds, Confirmed: "EL"})
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
	assert.True(t, m.TestedAt.IsZero())
	assert.True(t, m.SafetyAt.IsZero())
	assert.Equal(t, electrical.Nameplate{}, m.Plate)
	assert.Empty(t, m.Class)
	on, err := w.SpareShelf(Ctx)
	require.NoError(t, err)
	require.Len(t, on.SpareShelf, 1)
	assert.Equal(t, "motor", on.SpareShelf[0].Part)
	// Who converted it is a refurbisher.
	_, err = w.MayTest(Ctx, "QX", tag)
	assert.ErrorContains(t, err, "QX worked on")
}

// A reason of blanks is none, and says nothing to whoever reads it years later.
func TestABlankReasonIsNone(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	gone := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Shipped })
	base := &stock.Base{}
	require.NoError(t, w.AddBase(Ctx, "QX", base))
	for name, do := range map[string]func(text string) error{
		"triage": func(s string) error { _, err := w.Triage(Ctx, "QX", tag, "parts", s, ""); return err },
		"hold":   func(s string) error { _, err := w.Hold(Ctx, "QX", tag, s); return err },
		"base triage": func(s string) error {
			_,
				err := w.TriageBase(Ctx, "QX", base.Tag, "parts", s)
			return err
		},
		"base hold": func(s string) error { _, err := w.HoldBase(Ctx, "QX", base.Tag, s); return err },
		"bench note": func(s string) error {
			_,
				err := w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Note: s})
			return err
		},
		"report back": func(s string) error {
			_,
				err := w.ReportBack(Ctx, "QX", gone, packing.Arrival{Note: s})
			return err
		},
		"base note": func(s string) error { _, err := w.NoteBase(Ctx, "QX", base.Tag, s); return err },
	} {
		for _, text := range []string{"", " \t "} {
			assert.Equal(t, registry.Invalid, registry.CodeOf(do(text)), "%s %q", name, text)
		}
	}
	m, err := w.Hold(Ctx, "QX", tag, "  waits for its shuttle ")
	require.NoError(t, err)
	assert.Equal(t, "waits for its shuttle", m.HeldWhy)
}

// A point that is said to pass and to fail was mistyped; neither is believed.
func TestAPointIsAnsweredOnce(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Test(Ctx, "RS", tag,
		bench.TestForm{PassAll: true, Pass: []string{"tension"},
			Fail: map[string]string{"tension": "loops below"}})
	assert.ErrorContains(t, err, `point "tension" is both passed and failed: give it once`)
}

// A list of points that leaves a drive out must not pass its machines untested.
func TestNoPointsIsNoPass(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Lists.Bench.Points = func() ([]bench.TestPoint, error) {
		return []bench.TestPoint{{Point: "crank", Ask: "Does it turn?",
			Drives: registry.DriveSet{registry.Hand}}}, nil
	}
	tag := registrytest.Put(t, w, registry.Treadle, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Test(Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, string(tag)+" has treadle drive, and lists/points.csv has no point for it")
	m, err := w.Machine(Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
}

// A drive that was logged wrongly is corrected together with what was tested under it.
func TestACorrectedDriveStartsTheTestsAgain(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, err = w.Amend(Ctx, "QX", tag, "", func(m *stock.Machine) error { m.Drive = registry.Hand; return nil })
	require.ErrorContains(t, err, "untested: convert it", "it was tested as electric")
	slip := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {})
	for _, drive := range []registry.Drive{registry.Hand, registry.Electric} {
		m, err := w.Amend(Ctx, "QX", slip, "", func(m *stock.Machine) error { m.Drive = drive; return nil })
		require.NoError(t, err)
		assert.True(t, m.SafetyAt.IsZero(), drive)
	}
	_, err = w.Amend(Ctx, "RS", slip, "",
		func(m *stock.Machine) error { m.Drive = registry.Hand; return nil })
	require.ErrorContains(t, err, "only whoever logged it may correct that")
	hand := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Ready })
	m, err := w.Amend(Ctx, "RS", hand, "",
		func(m *stock.Machine) error { m.Drive = registry.Electric; return nil })
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage, "that it is electric may always be said")
}

// Another house works on what was handed to it. Whoever would test it here hears so before the first
// question, and new tables leave its history alone, or it could not come back.
func TestWhatWasHandedOverIsLeftAlone(t *testing.T) {
	w := registrytest.Workshop(t)
	made := func(m *stock.Machine) {
		m.Stage = registry.Check
		m.Maker, m.Serial = "Willcox & Gibbs",
			"15000"
	}
	gone, here := registrytest.Put(t, w, registry.Electric, made),
		registrytest.Put(t, w, registry.Electric, made)
	_, err := w.HandOver(Ctx, "QX", exchange.HandOverOptions{Tags: []registry.Tag{gone}, To: "Eldwray"},
		func(*exchange.UnitHistory) error { return nil })
	require.NoError(t, err)
	says := string(gone) + " was handed to Eldwray and is worked on there"
	m, err := w.MayTest(Ctx, "RS", gone)
	assert.ErrorContains(t, err, says)
	assert.Equal(t, gone, m.Tag, "shown beside the refusal")
	_, err = w.MayTestSafety(Ctx, "EL", gone)
	assert.ErrorContains(t, err, says)
	_, err = w.Amend(Ctx, "QX", gone, "",
		func(m *stock.Machine) error { m.Note = "left drawer lacks its knob"; return nil })
	assert.ErrorContains(t, err, says)
	redated, err := w.Redate(Ctx, "QX")
	require.NoError(t, err)
	require.Len(t, redated, 1)
	assert.Equal(t, here, redated[0].Tag)
}
