package offers_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/mains"
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
		hints := registrytest.NextSteps(t, err)
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
				form := registrytest.GoodSafety()
				form.Plug = "G" // the one of before may be off
				_, _, err = w.Safety(Ctx, "EL", tag, form)
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
				slices.ContainsFunc(w.Warnings(now), func(said string) bool {
					return strings.HasPrefix(said, "do not plug in: ")
				}))
		}
	}
	assert.Greater(t, ready, 20, "the trials have to get there")
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
			_, err := w.TriageBase(Ctx, "QX", base.Tag, "parts", s)
			return err
		},
		"base hold": func(s string) error { _, err := w.HoldBase(Ctx, "QX", base.Tag, s); return err },
		"bench note": func(s string) error {
			_, err := w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Note: s})
			return err
		},
		"report back": func(s string) error {
			_, err := w.ReportBack(Ctx, "QX", gone, packing.Arrival{Note: s})
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
