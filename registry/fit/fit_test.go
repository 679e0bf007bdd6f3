package fit_test

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/fit"
	"pitman/registry/measure"
)

const mm = measure.Millimetre

// goodHead and goodBase fit without work; each case changes what it is about.
// defaultHouse is a house that decided nothing yet.
func defaultHouse() fit.House { return fit.HouseOf(fit.DefaultConfig()) }

func goodHead() fit.Head {
	return fit.Head{BedLength: 371 * mm, BedWidth: 178 * mm, Pins: 241 * mm, Wheel: 70 * mm, Groove: fit.Yes}
}

func goodBase() fit.Base {
	return fit.Base{OpeningLength: 374 * mm, OpeningWidth: 181 * mm, Pins: 241 * mm, Flywheel: 305 * mm,
		Centre: 560 * mm}
}

func TestCheck(t *testing.T) {
	offersAll := defaultHouse()
	offersAll.PackingMax, offersAll.DrillMax = 10*mm, 4*mm
	withNewTop := func(minutes int) fit.House { // packing and drilling take 50 minutes together
		house := offersAll
		house.NewTop = minutes
		return house
	}
	for name, tt := range map[string]struct {
		change  func(*fit.Head, *fit.Base)
		house   fit.House
		fits    fit.Verdict
		minutes int
		rule    string
		result  fit.Outcome
		why     string
	}{
		"fits": {
			change: func(*fit.Head, *fit.Base) {},
			fits:   fit.Fits, rule: "pins", result: fit.Pass,
			why: "pin centres: head 241 mm, base 241 mm, limit ± 1 mm",
		},
		"pins at the limit": {
			change: func(_ *fit.Head, b *fit.Base) { b.Pins = 242 * mm },
			fits:   fit.Fits, rule: "pins", result: fit.Pass,
			why: "pin centres: head 241 mm, base 242 mm, limit ± 1 mm",
		},
		"pins outside": {
			change: func(_ *fit.Head, b *fit.Base) { b.Pins = 244 * mm },
			fits:   fit.FitsNot, rule: "pins", result: fit.Fail,
			why: "pin centres: head 241 mm, base 244 mm, limit ± 1 mm: 2 mm outside",
		},
		"pins outside, the other way": {
			change: func(_ *fit.Head, b *fit.Base) { b.Pins = 239*mm + 500 },
			fits:   fit.FitsNot, rule: "pins", result: fit.Fail,
			why: "pin centres: head 241 mm, base 239.5 mm, limit ± 1 mm: 0.5 mm outside",
		},
		"pins to drill where the house offers it": {
			change: func(_ *fit.Head, b *fit.Base) { b.Pins = 244 * mm }, house: offersAll,
			fits: fit.WithWork, minutes: 30, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, base 244 mm, limit ± 1 mm: 2 mm outside; with work: drill new " +
				"hinge sockets",
		},
		"clearance at the lower limit": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningLength = 372 * mm },
			fits:   fit.Fits, rule: "opening-length", result: fit.Pass,
			why: "opening length: bed 371 mm, opening 372 mm, clearance 1 mm, limit 1 to 6 mm",
		},
		"clearance below": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningLength = 371*mm + 999 },
			fits:   fit.FitsNot, rule: "opening-length", result: fit.Fail,
			why: "opening length: bed 371 mm, opening 371.999 mm, clearance 0.999 mm, limit 1 to 6 mm: " +
				"0.001 mm too tight",
		},
		"bed larger than the opening": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth = 170 * mm }, house: offersAll,
			fits: fit.FitsNot, rule: "opening-width", result: fit.Fail,
			why: "opening width: bed 178 mm, opening 170 mm, clearance -8 mm, limit 1 to 6 mm: 9 mm too tight",
		},
		"clearance at the upper limit": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth = 184 * mm },
			fits:   fit.Fits, rule: "opening-width", result: fit.Pass,
			why: "opening width: bed 178 mm, opening 184 mm, clearance 6 mm, limit 1 to 6 mm",
		},
		"clearance above, fixed top": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth = 186 * mm },
			fits:   fit.FitsNot, rule: "opening-width", result: fit.Fail,
			why: "opening width: bed 178 mm, opening 186 mm, clearance 8 mm, limit 1 to 6 mm: 2 mm too wide",
		},
		"clearance above, packed": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth = 186 * mm }, house: offersAll,
			fits: fit.WithWork, minutes: 20, rule: "opening-width", result: fit.PassWork,
			why: "opening width: bed 178 mm, opening 186 mm, clearance 8 mm, limit 1 to 6 mm: 2 mm too " +
				"wide; with work: packing strip",
		},
		"one strip of work for both axes, and sockets": {
			change: func(_ *fit.Head, b *fit.Base) {
				b.OpeningWidth, b.OpeningLength, b.Pins = 186*mm, 380*mm,
					244*mm
			}, house: offersAll,
			fits: fit.WithWork, minutes: 50, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, base 244 mm, limit ± 1 mm: 2 mm outside; with work: drill new " +
				"hinge sockets",
		},
		"as wide as a strip fills, and sockets as far off as can be drilled": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth, b.Pins = 188*mm, 245*mm },
			house:  offersAll,
			fits:   fit.WithWork, minutes: 50, rule: "opening-width", result: fit.PassWork,
			why: "opening width: bed 178 mm, opening 188 mm, clearance 10 mm, limit 1 to 6 mm: 4 mm too " +
				"wide; with work: packing strip",
		},
		"too wide even for a strip": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth = 189 * mm }, house: offersAll,
			fits: fit.FitsNot, rule: "opening-width", result: fit.Fail,
			why: "opening width: bed 178 mm, opening 189 mm, clearance 11 mm, limit 1 to 6 mm: 5 mm too wide",
		},
		"replaceable top": {
			change: func(_ *fit.Head, b *fit.Base) {
				b.Pins, b.OpeningLength, b.Top = 300*mm, 300*mm,
					fit.TopReplaceable
			},
			fits: fit.WithWork, minutes: 180, rule: "opening-length", result: fit.PassWork,
			why: "opening length: bed 371 mm, opening 300 mm, clearance -71 mm, limit 1 to 6 mm: 72 mm too " +
				"tight; with work: new top",
		},
		"replaceable top, but a strip is less work": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth, b.Top = 186*mm, fit.TopReplaceable },
			house:  offersAll,
			fits:   fit.WithWork, minutes: 20, rule: "opening-width", result: fit.PassWork,
			why: "opening width: bed 178 mm, opening 186 mm, clearance 8 mm, limit 1 to 6 mm: 2 mm too " +
				"wide; with work: packing strip",
		},
		"replaceable top, and small jobs that take as long": {
			change: func(_ *fit.Head, b *fit.Base) {
				b.OpeningWidth, b.Pins, b.Top = 186*mm, 244*mm,
					fit.TopReplaceable
			},
			house: withNewTop(50),
			fits:  fit.WithWork, minutes: 50, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, base 244 mm, limit ± 1 mm: 2 mm outside; with work: drill new " +
				"hinge sockets",
		},
		"replaceable top, and small jobs that take longer": {
			change: func(_ *fit.Head, b *fit.Base) {
				b.OpeningWidth, b.Pins, b.Top = 186*mm, 244*mm,
					fit.TopReplaceable
			},
			house: withNewTop(49),
			fits:  fit.WithWork, minutes: 49, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, base 244 mm, limit ± 1 mm: 2 mm outside; with work: new top",
		},
		"fixed top, and small jobs that take longer": {
			change: func(_ *fit.Head, b *fit.Base) { b.OpeningWidth, b.Pins = 186*mm, 244*mm },
			house:  withNewTop(49),
			fits:   fit.WithWork, minutes: 50, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, base 244 mm, limit ± 1 mm: 2 mm outside; with work: drill new " +
				"hinge sockets",
		},
		"replaceable top and a measure that is not known": {
			change: func(_ *fit.Head, b *fit.Base) {
				b.Pins, b.OpeningLength, b.Top = 0, 300*mm,
					fit.TopReplaceable
			},
			fits: fit.NotMeasured, rule: "pins", result: fit.Unknown,
			why: "pin centres: head 241 mm, base not known: measure it",
		},
		"missing top": {
			change: func(_ *fit.Head, b *fit.Base) {
				b.Pins, b.OpeningLength, b.OpeningWidth, b.Top = 0, 0, 0,
					fit.TopMissing
			},
			fits: fit.WithWork, minutes: 180, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, the base has no top; with work: new top",
		},
		"missing top and head not measured": {
			change: func(h *fit.Head, b *fit.Base) { h.BedLength, b.Top = 0, fit.TopMissing },
			fits:   fit.NotMeasured, rule: "opening-length", result: fit.Unknown,
			why: "opening length: bed not known: measure it, a new top is cut to it",
		},
		"no groove": {
			change: func(h *fit.Head, _ *fit.Base) { h.Groove = fit.No },
			fits:   fit.WithWork, minutes: 30, rule: "groove", result: fit.PassWork,
			why: "the handwheel has no belt groove: swap it for one that has, and give that groove's diameter",
		},
		"no groove, and a new top": {
			change: func(h *fit.Head, b *fit.Base) { h.Groove, b.Top = fit.No, fit.TopMissing },
			fits:   fit.WithWork, minutes: 210, rule: "pins", result: fit.PassWork,
			why: "pin centres: head 241 mm, the base has no top; with work: new top",
		},
		"groove not known": {
			change: func(h *fit.Head, _ *fit.Base) { h.Groove = "" },
			fits:   fit.NotMeasured, rule: "groove", result: fit.Unknown,
			why: "not known whether the handwheel has a belt groove: look and record it",
		},
		"no groove and no diameter": {
			change: func(h *fit.Head, _ *fit.Base) { h.Groove, h.Wheel = fit.No, 0 },
			fits:   fit.NotMeasured, rule: "wheel", result: fit.Unknown,
			why: "the diameter of the handwheel's groove is not known: measure it",
		},
		"flywheel not known": {
			change: func(_ *fit.Head, b *fit.Base) { b.Flywheel = 0 },
			fits:   fit.NotMeasured, rule: "flywheel", result: fit.Unknown,
			why: "the diameter of the flywheel's groove is not known: measure it",
		},
		"bed not known": {
			change: func(h *fit.Head, _ *fit.Base) { h.BedWidth = 0 },
			fits:   fit.NotMeasured, rule: "opening-width", result: fit.Unknown,
			why: "opening width: opening 181 mm, bed not known: measure it",
		},
		"neither opening nor bed known": {
			change: func(h *fit.Head, b *fit.Base) { h.BedWidth, b.OpeningWidth = 0, 0 },
			fits:   fit.NotMeasured, rule: "opening-width", result: fit.Unknown,
			why: "opening width: neither bed nor opening is known: measure both",
		},
		"what is known already rules it out": {
			change: func(h *fit.Head, b *fit.Base) { h.BedWidth, b.Pins = 0, 300*mm },
			fits:   fit.FitsNot, rule: "pins", result: fit.Fail,
			why: "pin centres: head 241 mm, base 300 mm, limit ± 1 mm: 58 mm outside",
		},
		"the centre distance only informs": {
			change: func(_ *fit.Head, b *fit.Base) { b.Centre = 0 },
			fits:   fit.Fits, rule: "flywheel", result: fit.Pass,
			why: "the diameter of the flywheel's groove is 305 mm",
		},
	} {
		t.Run(name, func(t *testing.T) {
			h, b := goodHead(), goodBase()
			tt.change(&h, &b)
			house := tt.house
			if house == (fit.House{}) {
				house = defaultHouse()
			}
			r := fit.Check(h, b, house)
			assert.Equal(t, tt.fits, r.Fits, r.InShort())
			assert.Equal(t, tt.minutes, r.WorkMinutes)
			found := false
			for _, rule := range r.Rules {
				if rule.Rule == tt.rule {
					found = true
					assert.Equal(t, tt.result, rule.Result)
					assert.Equal(t, tt.why, rule.Why)
				}
			}
			assert.True(t, found, "rule %s", tt.rule)
			assert.Equal(t, r.Fits == fit.FitsNot || r.Fits == fit.NotMeasured, len(r.Misses()) > 0)
			assert.Equal(t, r.Fits == fit.Fits || r.Fits == fit.WithWork, fit.Judge(h, b, house).Usable())
		})
	}
}

// Whatever measure of the seven that decide is taken away, the answer must not stay a fit.
func TestUnknownIsNeverASilentPass(t *testing.T) {
	for name, forget := range map[string]func(*fit.Head, *fit.Base){
		"bed length":     func(h *fit.Head, _ *fit.Base) { h.BedLength = 0 },
		"bed width":      func(h *fit.Head, _ *fit.Base) { h.BedWidth = 0 },
		"head's pins":    func(h *fit.Head, _ *fit.Base) { h.Pins = 0 },
		"wheel":          func(h *fit.Head, _ *fit.Base) { h.Wheel = 0 },
		"groove":         func(h *fit.Head, _ *fit.Base) { h.Groove = "" },
		"opening length": func(_ *fit.Head, b *fit.Base) { b.OpeningLength = 0 },
		"opening width":  func(_ *fit.Head, b *fit.Base) { b.OpeningWidth = 0 },
		"base's pins":    func(_ *fit.Head, b *fit.Base) { b.Pins = 0 },
		"flywheel":       func(_ *fit.Head, b *fit.Base) { b.Flywheel = 0 },
	} {
		for _, top := range []fit.Top{"", fit.TopFixed, fit.TopReplaceable} {
			h, b := goodHead(), goodBase()
			b.Top = top
			require.Equal(t, fit.Fits, fit.Check(h, b, defaultHouse()).Fits)
			forget(&h, &b)
			r := fit.Check(h, b, defaultHouse())
			assert.Equal(t, fit.NotMeasured, r.Fits, "%s with top %q", name, top)
			assert.Zero(t, r.WorkMinutes)
			assert.Len(t, r.Misses(), 1)
		}
	}
}

func TestInShort(t *testing.T) {
	assert.Empty(t, fit.Check(goodHead(), goodBase(), defaultHouse()).InShort())
	assert.Equal(t, "worth measuring: bed, hinge pins, belt groove, handwheel",
		fit.Check(fit.Head{}, goodBase(), defaultHouse()).InShort())
	assert.Equal(t, "worth measuring: opening, hinge sockets, flywheel",
		fit.Check(goodHead(), fit.Base{}, defaultHouse()).InShort())
	assert.Equal(t,
		"worth measuring: bed, opening, hinge pins, hinge sockets, belt groove, handwheel, flywheel",
		fit.Check(fit.Head{}, fit.Base{}, defaultHouse()).InShort())
	assert.Equal(t, "worth measuring: bed, hinge pins, belt groove, handwheel, flywheel",
		fit.Check(fit.Head{}, fit.Base{Top: fit.TopMissing}, defaultHouse()).InShort())

	h, b := goodHead(), goodBase()
	h.BedWidth, b.Pins = 0, 0
	assert.Equal(t, "worth measuring: bed, hinge sockets", fit.Check(h, b, defaultHouse()).InShort())
	b.Pins = 300 * mm
	assert.Equal(t, "pin centres: head 241 mm, base 300 mm, limit ± 1 mm: 58 mm outside",
		fit.Check(h, b, defaultHouse()).InShort(),
		"what fails already comes before what could be measured")
}

func TestNewTopIsCutToTheHead(t *testing.T) {
	b := goodBase()
	b.Top = fit.TopMissing
	r := fit.Check(goodHead(), b, defaultHouse())
	require.NotNil(t, r.NewTop)
	assert.Equal(t, fit.NewTop{OpeningLength: 374*mm + 500, OpeningWidth: 181*mm + 500, Pins: 241 * mm},
		*r.NewTop)

	// the top so cut must pass the rules that asked for it
	b.Top, b.OpeningLength, b.OpeningWidth, b.Pins = fit.TopFixed, r.NewTop.OpeningLength,
		r.NewTop.OpeningWidth,
		r.NewTop.Pins
	assert.Equal(t, fit.Fits, fit.Check(goodHead(), b, defaultHouse()).Fits)
}

func TestCompareRanksFitsThenWorkThenWhatToMeasureThenNearMisses(t *testing.T) {
	at := func(change func(*fit.Base)) fit.Result {
		b := goodBase()
		change(&b)
		return fit.Check(goodHead(), b, defaultHouse())
	}
	ranked := []fit.Result{
		at(func(*fit.Base) {}),
		at(func(b *fit.Base) { b.Top = fit.TopMissing }),
		at(func(b *fit.Base) { b.Pins = 0 }),
		at(func(b *fit.Base) { b.Pins, b.Flywheel = 0, 0 }),
		at(func(b *fit.Base) { b.Pins = 244 * mm }),
		at(func(b *fit.Base) { b.Pins = 250 * mm }),
	}
	for i := range ranked {
		for j := range ranked {
			want := 0
			if i < j {
				want = -1
			} else if i > j {
				want = 1
			}
			assert.Equal(t, want, fit.Compare(ranked[i], ranked[j]), "%d and %d", i, j)
		}
	}
}

func TestResultJSON(t *testing.T) {
	b := goodBase()
	b.Pins, b.Centre = 0, 0
	text, err := json.Marshal(fit.Check(goodHead(), b, defaultHouse()))
	require.NoError(t, err)
	var got struct {
		Fits        string `json:"fits"`
		WorkMinutes *int   `json:"work_minutes"`
		Rules       []map[string]any
		Belt        any      `json:"belt_mm"`
		Ratio       *float64 `json:"ratio"`
	}
	require.NoError(t, json.Unmarshal(text, &got))
	assert.Equal(t, "unknown", got.Fits)
	assert.Equal(t, 0, *got.WorkMinutes)
	assert.Nil(t, got.Belt)
	assert.InDelta(t, 310.0/75, *got.Ratio, 0.001)
	require.Len(t, got.Rules, 6)
	assert.Equal(t,
		map[string]any{"rule": "pins", "result": "unknown", "head": 241.0, "base": nil, "limit": "± 1",
			"unit": "mm",
			"why":  "pin centres: head 241 mm, base not known: measure it"}, got.Rules[2])
	assert.Equal(t,
		map[string]any{"rule": "groove", "result": "pass", "head": "yes", "base": nil, "limit": "yes",
			"unit": "",
			"why":  "the handwheel has a belt groove"}, got.Rules[3])
}

// Judge gives the figures alone; the rules that Check tells beside them must add up to the same.
func TestRulesAddUpToTheScore(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	near := func(of measure.Length) measure.Length {
		if r.IntN(8) == 0 {
			return 0
		}
		return (of + measure.Length(r.IntN(25)) - 12) * mm
	}
	seen := map[fit.Verdict]int{}
	for range 20_000 {
		h := fit.Head{BedLength: near(371), BedWidth: near(178), Pins: near(241), Wheel: near(70),
			Groove: []fit.Answer{fit.Yes, fit.Yes, fit.No, ""}[r.IntN(4)]}
		b := fit.Base{OpeningLength: near(374), OpeningWidth: near(181), Pins: near(241), Flywheel: near(305),
			Top: []fit.Top{"", fit.TopFixed, fit.TopReplaceable, fit.TopMissing}[r.IntN(4)]}
		house := defaultHouse()
		house.Pins, house.ClearanceMax = 4*mm, 9*mm
		house.PackingMax, house.DrillMax = measure.Length(r.IntN(15))*mm, measure.Length(r.IntN(8))*mm
		house.NewTop = r.IntN(100)
		got, score := fit.Check(h, b, house), fit.Judge(h, b, house)
		want := fit.Fits
		count := map[fit.Outcome]int{}
		for _, rule := range got.Rules {
			count[rule.Result]++
		}
		switch {
		case count[fit.Fail] > 0:
			want = fit.FitsNot
		case count[fit.Unknown] > 0:
			want = fit.NotMeasured
		case count[fit.PassWork] > 0:
			want = fit.WithWork
		}
		require.Equal(t, want, got.Fits, "%+v", got)
		require.Equal(t, got.Fits, score.Fits)
		minutes := 0
		for _, job := range got.Work {
			minutes += job.Minutes
		}
		require.Equal(t, minutes, got.WorkMinutes)
		require.Equal(t, minutes, score.Minutes)
		require.Equal(t, got.Fits == fit.FitsNot, score.Excess > 0)
		require.Equal(t, count[fit.Unknown], score.Unknown)
		require.Equal(t, got.Fits == fit.WithWork, len(got.Work) > 0)
		require.Equal(t, slices.ContainsFunc(got.Work,
			func(j fit.Job) bool { return j.Name == fit.JobNewTop }),
			got.NewTop != nil)
		seen[got.Fits]++
	}
	for _, v := range []fit.Verdict{fit.Fits, fit.WithWork, fit.NotMeasured, fit.FitsNot} {
		assert.Greater(t, seen[v], 50, v)
	}
}

func BenchmarkJudge(b *testing.B) {
	h, under, house := goodHead(), goodBase(), defaultHouse()
	for b.Loop() {
		fit.Judge(h, under, house)
	}
}
