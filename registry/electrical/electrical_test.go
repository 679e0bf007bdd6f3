package electrical_test

import (
	"math/rand/v2"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/measure"
)

var testDay = time.Date(2031, 3, 4, 10, 0, 0, 0, time.UTC)

// passingI and passingII are complete forms that pass.
func passingI() electrical.SafetyForm {
	return electrical.SafetyForm{Class: "I", Visual: "pass", Earth: "0.12", CordLength: "2", CordArea: "0.75",
		Insulation: "20", SwitchOn: true,
		Leakage: "0.4", Polarity: "pass", Plug: "G", Fuse: "3", Volts: "220–240 V", Hertz: "50/60 Hz",
		Watts: "85"}
}

func passingII() electrical.SafetyForm {
	f := passingI()
	f.Class, f.Earth, f.CordLength, f.CordArea, f.Leakage = "II", "", "", "", "0.1"
	f.Plug = ""
	return f
}

func judge(t *testing.T, form electrical.SafetyForm) electrical.SafetyResult {
	t.Helper()
	r, err := electrical.SafetyRules{}.Judge(form, electrical.Nameplate{}, testDay)
	require.NoError(t, err)
	return r
}

// limitOf finds one limit of a result by name.
func limitOf(t *testing.T, r electrical.SafetyResult, what string) electrical.Limit {
	t.Helper()
	for _, l := range r.Limits {
		if l.What == what {
			return l
		}
	}
	t.Fatalf("no limit for %s in %v", what, r.Limits)
	return electrical.Limit{}
}

// Source: IEC 60228, table for class 5, plain copper, 20 °C (mΩ/m), added to the 0.1 Ω of the IET Code of
// Practice for In-Service Inspection and Testing of Electrical Equipment; the sums are by hand.
func TestEarthLimitPublished(t *testing.T) {
	for _, c := range []struct {
		area, length string
		want         float64
	}{
		{"0.5", "1", 0.139}, // 100 + 39.0 mΩ
		{"0.75", "1", 0.126},
		{"1.0", "1", 0.1195},
		{"1", "1", 0.1195},
		{"1.5", "1", 0.1133},
		{"2.5", "1", 0.10798},
		{"0.75", "2", 0.152}, // 100 + 2 × 26.0
		{"0,75 mm²", "1.8 m", 0.1468},
		{"0.50", "5", 0.295},
		{"1.50 mm2", "10", 0.233},
	} {
		form := passingI()
		form.CordArea, form.CordLength, form.LongCord = c.area, c.length, true
		l := limitOf(t, judge(t, form), "earth")
		assert.Equal(t, c.want, l.Limit, "%s mm², %s m", c.area, c.length)
		assert.Equal(t, "Ω", l.Unit)
		assert.Contains(t, l.Source, "IEC 60228")
		assert.Contains(t, l.Source, "IET Code of Practice")
	}
}

// Source: IET Code of Practice for In-Service Inspection and Testing of Electrical Equipment. On the limit
// passes, one step past it fails, and the margin says by how much.
func TestPublishedLimits(t *testing.T) {
	for _, c := range []struct {
		name, what string
		form       func(*electrical.SafetyForm, string)
		class      string
		on, past   string
		limit      float64
		unit       string
		marginPast float64
	}{
		{"earth 0.1 Ω + 2 m of 0.75 mm²", "earth", func(f *electrical.SafetyForm, v string) { f.Earth = v },
			"I",
			"0.152", "0.153", 0.152, "Ω", -0.001},
		{"insulation class I 1 MΩ", "insulation", func(f *electrical.SafetyForm,
			v string) {
			f.Insulation = v
		}, "I",
			"1", "0.99", 1, "MΩ", -0.01},
		{"insulation class II 2 MΩ", "insulation",
			func(f *electrical.SafetyForm, v string) { f.Insulation = v }, "II",
			"2", "1.99", 2, "MΩ", -0.01},
		{"leakage class I stationary 3.5 mA", "leakage",
			func(f *electrical.SafetyForm, v string) { f.Leakage, f.Use = v, "stationary" }, "I", "3.5",
			"3.51", 3.5,
			"mA", -0.01},
		// The 4th edition (2012) has this figure for hand-held and portable alike.
		{"leakage class I portable 0.75 mA", "leakage",
			func(f *electrical.SafetyForm, v string) { f.Leakage = v }, "I",
			"0.75", "0.76", 0.75, "mA", -0.01},
		{"leakage class I handheld 0.75 mA", "leakage",
			func(f *electrical.SafetyForm, v string) { f.Leakage, f.Handheld = v, true }, "I", "0.75", "0.76",
			0.75,
			"mA", -0.01},
		{"leakage class II 0.25 mA", "leakage", func(f *electrical.SafetyForm, v string) { f.Leakage = v },
			"II", "0.25",
			"0.26", 0.25, "mA", -0.01},
		{"class II handheld is class II", "leakage",
			func(f *electrical.SafetyForm, v string) { f.Leakage, f.Handheld = v, true }, "II", "0.25",
			"0.26", 0.25,
			"mA", -0.01},
	} {
		t.Run(c.name, func(t *testing.T) {
			form := passingI()
			if c.class == "II" {
				form = passingII()
			}
			c.form(&form, c.on)
			r := judge(t, form)
			l := limitOf(t, r, c.what)
			assert.True(t, l.Pass)
			assert.True(t, r.Pass, r.Hold)
			assert.Equal(t, c.limit, l.Limit)
			assert.Equal(t, c.unit, l.Unit)
			assert.Zero(t, l.Margin)

			c.form(&form, c.past)
			r = judge(t, form)
			l = limitOf(t, r, c.what)
			assert.False(t, l.Pass)
			assert.False(t, r.Pass)
			assert.Contains(t, r.Hold, c.what)
			assert.Equal(t, c.marginPast, l.Margin)
		})
	}
}

func TestSafetyPasses(t *testing.T) {
	r := judge(t, passingI())
	assert.True(t, r.Pass)
	assert.Empty(t, r.Hold)
	assert.Len(t, r.Limits, 3)
	assert.Equal(t, "220–240", r.Nameplate.Volts.String())
	assert.Equal(t, "50/60", r.Nameplate.Hertz.String())
	assert.Equal(t, 85, r.Nameplate.Watts)
	assert.Equal(t, "unknown", r.Nameplate.Motor)

	r = judge(t, passingII())
	assert.True(t, r.Pass)
	assert.Len(t, r.Limits, 2, "class II has no earth limit")
	form := passingII()
	form.Earth, form.CordLength, form.CordArea = "n/a", "N/A", "na"
	assert.True(t, judge(t, form).Pass)
}

func TestSafetyHolds(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*electrical.SafetyForm)
		hold   string
	}{
		"class none": {func(f *electrical.SafetyForm) { *f = electrical.SafetyForm{Class: "none"} },
			"rewired"},
		"class unknown": {func(f *electrical.SafetyForm) {
			*f = electrical.SafetyForm{Class: "unknown",
				Visual: "pass"}
		},
			"rewired"},
		"none with readings": {func(f *electrical.SafetyForm) { f.Class = "none" }, "rewired"},
		"visual": {func(f *electrical.SafetyForm) { *f = electrical.SafetyForm{Class: "I", Visual: "fail"} },
			"visual: failed"},
		"visual point": {func(f *electrical.SafetyForm) {
			*f = electrical.SafetyForm{Class: "II",
				VisualFaults: map[string]string{"rubber": "sticky", "cord": "taped"}}
		}, "visual: cord taped, rubber sticky"},
		"polarity": {func(f *electrical.SafetyForm) { f.Polarity = "fail" }, "polarity reversed"},
		"off the scale": {func(f *electrical.SafetyForm) { f.Earth = ">20" },
			"earth more than 20 Ω, limit at most 0.152 Ω"},
	} {
		t.Run(name, func(t *testing.T) {
			form := passingI()
			c.change(&form)
			r := judge(t, form)
			assert.False(t, r.Pass)
			assert.Contains(t, r.Hold, c.hold)
		})
	}
}

func TestSafetyRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		form   electrical.SafetyForm
		change func(*electrical.SafetyForm)
		says   string
	}{
		"no class": {passingI(), func(f *electrical.SafetyForm) { f.Class = "" },
			`class is missing: type I, II, III, none or unknown`},
		"class four": {passingI(), func(f *electrical.SafetyForm) { f.Class = "IV" },
			"type I, II, III, none or unknown"},
		"class III measured": {passingI(), func(f *electrical.SafetyForm) { f.Class = "III" },
			"earth is not accepted: class III is not measured so"},
		"polarity n/a on E": {passingI(), func(f *electrical.SafetyForm) { f.Polarity, f.Plug = "n/a", "E" },
			"a type E plug fits one way round only"},
		"cord of 18 m for 1.8": {passingI(), func(f *electrical.SafetyForm) {
			f.CordLength, f.Earth = "18",
				"0.3"
		},
			`cord length "18" is above 5 m`},
		"earth nought": {passingI(), func(f *electrical.SafetyForm) { f.Earth = "0" }, "null the lead"},
		"250 V without a reason": {passingI(), func(f *electrical.SafetyForm) { f.InsulationVolts = "250" },
			"insulation at 250 V is for surge protection or electronics"},
		"insulation voltage": {passingI(), func(f *electrical.SafetyForm) { f.InsulationVolts = "1000" },
			`insulation voltage "1000" is not known: type 500, or 250`},
		"no visual": {passingI(), func(f *electrical.SafetyForm) { f.Visual = "" }, "visual is missing"},
		"readings after a fail": {passingI(), func(f *electrical.SafetyForm) { f.Visual = "fail" },
			"visual failed, so earth is not accepted"},
		"pass with a fault": {passingI(),
			func(f *electrical.SafetyForm) { f.VisualFaults = map[string]string{"cord": "cut"} },
			"has a fault: type fail"},
		"unknown visual point": {passingI(),
			func(f *electrical.SafetyForm) { f.VisualFaults = map[string]string{"paint": "worn"} },
			`visual point "paint"`},
		"no earth on I": {passingI(), func(f *electrical.SafetyForm) { f.Earth = "" },
			"earth is missing for class I"},
		"earth n/a on I": {passingI(), func(f *electrical.SafetyForm) { f.Earth = "n/a" },
			"earth cannot be n/a"},
		"earth on II": {passingII(), func(f *electrical.SafetyForm) { f.Earth = "0.1" },
			"class II has no earth"},
		"no cord": {passingI(), func(f *electrical.SafetyForm) { f.CordLength = "" },
			"cord length is missing"},
		"cord area n/a": {passingI(), func(f *electrical.SafetyForm) { f.CordArea = "n/a" },
			"cord area cannot be n/a"},
		"area not in table": {passingI(), func(f *electrical.SafetyForm) { f.CordArea = "0.6" },
			"type one of 0.5, 0.75, 1.0, 1.25, 1.5, 2.5, AWG 18, AWG 16, AWG 14"},
		"cord in centimetres": {passingI(), func(f *electrical.SafetyForm) { f.CordLength = "180" },
			"cord length"},
		"cord too long": {passingI(), func(f *electrical.SafetyForm) { f.CordLength = "26" },
			"longer than any machine's cord"},
		"insulation n/a": {passingII(), func(f *electrical.SafetyForm) { f.Insulation = "n/a" },
			"insulation cannot be n/a"},
		"leakage n/a": {passingII(), func(f *electrical.SafetyForm) { f.Leakage = "n/a" },
			"leakage cannot be n/a"},
		"switch off": {passingI(), func(f *electrical.SafetyForm) { f.SwitchOn = false },
			"measure it so and say so"},
		"polarity n/a, one way": {passingI(), func(f *electrical.SafetyForm) {
			f.Polarity, f.Plug = "n/a",
				"G"
		},
			"polarity cannot be n/a"},
		"fuse n/a in fused plug": {passingI(), func(f *electrical.SafetyForm) { f.Fuse, f.Plug = "n/a", "g" },
			"fuse cannot be n/a"},
		"no fuse":     {passingI(), func(f *electrical.SafetyForm) { f.Fuse = "" }, "fuse is missing"},
		"fuse nought": {passingI(), func(f *electrical.SafetyForm) { f.Fuse = "0" }, "fuse"},
		"negative earth": {passingI(), func(f *electrical.SafetyForm) { f.Earth = "-0.1" },
			`earth "-0.1" is negative`},
		"earth NaN": {passingI(), func(f *electrical.SafetyForm) { f.Earth = "NaN" }, "is not a number"},
		"insulation in ohms": {passingI(), func(f *electrical.SafetyForm) { f.Insulation = "20000000" },
			"is more than 100000 MΩ"},
		"leakage infinite": {passingI(), func(f *electrical.SafetyForm) { f.Leakage = "Inf" },
			"is not a number"},
		"undecided over": {passingI(), func(f *electrical.SafetyForm) { f.Insulation = ">0.5" },
			"does not tell"},
		"undecided under": {passingI(), func(f *electrical.SafetyForm) { f.Leakage = "<5" }, "does not tell"},
		"plug": {passingI(), func(f *electrical.SafetyForm) { f.Plug = "Z" },
			"one letter from A to O"},
		"watts": {passingI(), func(f *electrical.SafetyForm) { f.Watts = "NaN" }, `watts "NaN"`},
		"volts": {passingI(), func(f *electrical.SafetyForm) { f.Volts = "-230" }, "is negative"},
		"hertz": {passingI(), func(f *electrical.SafetyForm) { f.Hertz = "1" },
			"is not between 15 and 400"},
		"motor": {passingI(), func(f *electrical.SafetyForm) { f.Motor = "steam" },
			"type brush, induction or unknown"},
	} {
		t.Run(name, func(t *testing.T) {
			c.change(&c.form)
			_, err := electrical.SafetyRules{}.Judge(c.form, electrical.Nameplate{}, testDay)
			require.Error(t, err)
			assert.ErrorContains(t, err, c.says)
			assert.NotEmpty(t, registry.CodeOf(err))
		})
	}
}

// A margin is told as people write figures, however small it is.
func TestASmallMargin(t *testing.T) {
	form := passingI()
	form.Earth = "0.15204"
	assert.Equal(t, "-0.00004 Ω", limitOf(t, judge(t, form), "earth").MarginSaid())
}

// Stationary: above 18 kg and without carrying handles, or fixed (IEC 60335-1, from memory).
func TestStationaryIsHeavyOrMounted(t *testing.T) {
	form := electrical.SafetyForm{Class: "I", Use: "stationary"}
	assert.Contains(t, electrical.Mounted(form, 12*measure.Kilogram), "it weighs 12 kg, below 18 kg")
	assert.Contains(t, electrical.Mounted(form, 17999), "17.999 kg")
	for _, m := range []measure.Mass{0, 18 * measure.Kilogram, 25 * measure.Kilogram} {
		assert.Empty(t, electrical.Mounted(form, m))
	}
	form.Use = "portable"
	assert.Empty(t, electrical.Mounted(form, 12*measure.Kilogram))
}

func TestEndOfScale(t *testing.T) {
	form := passingI()
	form.Insulation, form.Leakage = ">200", "<0.1"
	r := judge(t, form)
	assert.True(t, r.Pass)
	l := limitOf(t, r, "insulation")
	assert.Equal(t, 200.0, l.Reading)
	assert.Equal(t, "more than", l.Past)
	assert.Equal(t, "more than 200 MΩ", l.Said())
	assert.Equal(t, "more than 199 MΩ", l.MarginSaid())
	assert.Equal(t, "more than 0.65 mA", limitOf(t, r, "leakage").MarginSaid())

	// More than the limit fails, even by nothing that the display shows.
	form.Earth = ">0.152"
	assert.False(t, judge(t, form).Pass)
}

func TestInstruments(t *testing.T) {
	rules := electrical.SafetyRules{Instruments: []electrical.Instrument{
		{ID: "MT1", Calibrated: "2030-05-01", Due: "2031-05-01"},
		{ID: "MT2", Calibrated: "2029-06-01", Due: "2031-03-03"},
		{ID: "MT3", Calibrated: "2030-01-01"},
		{ID: "MT4", Calibrated: "2031-03-05"}, {ID: "MT5", Calibrated: "2029-03-03", Due: "2040-01-01"},
		{ID: "MT6", Calibrated: "2029-03-04"},
	}}
	for id, says := range map[string]string{
		"":    "instrument is missing: type one of MT1, MT2, MT3, MT4, MT5, MT6",
		"MT4": "instrument MT4 has the calibration date 2031-03-05, which lies ahead of today, 2031-03-04",
		"MT5": "instrument MT5 was calibrated on 2029-03-03, more than 2 years ago", "MT6": "",
		"MT9": `instrument "MT9" is not listed`,
		"MT2": "was due for calibration on 2031-03-03",
		"mt1": "", "MT3": "",
	} {
		form := passingI()
		form.Instrument = id
		_, err := rules.Judge(form, electrical.Nameplate{}, testDay)
		if says == "" {
			assert.NoError(t, err, id)
		} else {
			assert.ErrorContains(t, err, says)
		}
	}
	// On its last day an instrument still counts.
	rules.Instruments[1].Due = "2031-03-04"
	form := passingI()
	form.Instrument = "MT2"
	_, err := rules.Judge(form, electrical.Nameplate{}, testDay)
	assert.NoError(t, err)
}

func TestHouseCanOnlyTighten(t *testing.T) {
	rules := electrical.SafetyRules{Limits: electrical.SafetyLimits{EarthOhm: 0.05, InsulationIMohm: 7,
		LeakageIMA: 0.5}}
	form := passingI()
	form.CordLength, form.Earth, form.Insulation = "1", "0.077", "6.9"
	r, err := rules.Judge(form, electrical.Nameplate{}, testDay)
	require.NoError(t, err)
	earth := limitOf(t, r, "earth")
	assert.Equal(t, 0.076, earth.Limit)
	assert.Contains(t, earth.Source, "house limit 0.05 Ω, tighter than 0.1 Ω")
	assert.Equal(t, 7.0, limitOf(t, r, "insulation").Limit)
	assert.False(t, r.Pass)

	for _, loose := range []electrical.SafetyLimits{{EarthOhm: 0.11}, {InsulationIMohm: 0.9},
		{InsulationIIMohm: 1},
		{LeakageHandheldMA: 1},
		{LeakageIMA: 3.6}, {LeakageIIMA: 0.3}, {EarthOhm: -1}, {InsulationIMohm: 1e7},
		{InsulationIIMohm: 100_001}} {
		_, err := loose.Tightened()
		assert.Error(t, err, "%+v", loose)
	}
	got, err := electrical.SafetyLimits{}.Tightened()
	require.NoError(t, err)
	assert.Equal(t, electrical.PublishedSafetyLimits(), got)
}

func TestNameplateIsKept(t *testing.T) {
	known := electrical.Nameplate{Volts: measure.Rating{{Low: 110, High: 110}},
		Hertz: measure.Rating{{Low: 60, High: 60}}, Watts: 70, Motor: "brush", Plug: "A"}
	form := passingII()
	form.Volts, form.Hertz, form.Watts = "", "unknown", ""
	r, err := electrical.SafetyRules{}.Judge(form, known, testDay)
	require.NoError(t, err)
	assert.Equal(t, known, r.Nameplate)
}

// Whatever is read: a pass means every limit kept, and the sign of each margin agrees with its verdict.
func TestMarginAgreesWithVerdict(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	figure := func(most float64) string { return strconv.FormatFloat(random.Float64()*most, 'f', 3, 64) }
	passed := 0
	for range 2000 {
		form := passingI()
		if random.IntN(2) == 0 {
			form = passingII()
		} else {
			length := 1 + random.IntN(5) // above half of what the cord has itself, 26 mΩ a metre
			form.Earth = strconv.FormatFloat(0.013*float64(length)+random.Float64()*0.3, 'f', 3, 64)
			form.CordLength = strconv.Itoa(length)
		}
		form.Insulation, form.Leakage, form.Handheld = figure(10), figure(4), random.IntN(2) == 0
		r := judge(t, form)
		all := true
		for _, l := range r.Limits {
			assert.Equal(t, l.Margin >= 0, l.Pass)
			all = all && l.Pass
		}
		assert.Equal(t, all, r.Pass)
		assert.Equal(t, r.Pass, r.Hold == "")
		if r.Pass {
			passed++
		}
	}
	assert.NotZero(t, passed)
}

// A fault is kept as plain text, and a form that goes on is checked for what stands in it alone.
func TestSafetyFormAsItIsTyped(t *testing.T) {
	r, err := electrical.SafetyRules{}.Judge(electrical.SafetyForm{Class: "I", Visual: "fail",
		VisualFaults: map[string]string{"cord": "  cut "}}, electrical.Nameplate{}, time.Time{})
	require.NoError(t, err)
	assert.Equal(t, "visual: cord cut", r.Hold)
	assert.Equal(t, "cut", r.Form.VisualFaults["cord"])

	form := electrical.SafetyForm{Class: "II", Visual: "pass"}
	assert.NoError(t, form.Check(), "what is missing is no fault yet")
	form.Plug, form.Fuse = "g", "n/a"
	assert.ErrorContains(t, form.Check(), "fuse cannot be n/a: a type G plug has a fuse")
	form.Fuse, form.Insulation = "3", "n/a"
	assert.ErrorContains(t, form.Check(), "insulation cannot be n/a")
	form.Insulation, form.Leakage = "20", "1e400"
	assert.ErrorContains(t, form.Check(), `leakage "1e400" is not a current`)
	form.Leakage, form.Volts = "0.1", "mains"
	assert.ErrorContains(t, form.Check(), `volts "mains"`)
	form.Volts = "230"
	assert.NoError(t, form.Check())
}

// What failed is recorded alone: nobody switches on what did, only to fill the form. Without the cord's
// figures the earth limit is that of the longest cord: 0.1 Ω + 25 m × 39 mΩ/m (IET Code of Practice; IEC
// 60228).
func TestAFailingReadingStandsAlone(t *testing.T) {
	for name, c := range map[string]struct {
		form electrical.SafetyForm
		hold string
	}{
		"earth": {electrical.SafetyForm{Class: "I", Visual: "pass", Earth: "1.076"},
			"earth 1.076 Ω, limit at most 1.075 Ω"},
		"insulation": {electrical.SafetyForm{Class: "I", Visual: "pass", Insulation: "0.4"},
			"insulation 0.4 MΩ, limit at least 1 MΩ"},
		"both dead": {electrical.SafetyForm{Class: "I", Visual: "pass", Earth: "20", Insulation: "0.4"},
			"earth 20 Ω, limit at most 1.075 Ω; insulation 0.4 MΩ, limit at least 1 MΩ"},
		"leakage": {electrical.SafetyForm{Class: "II", Visual: "pass", Leakage: "0.26"},
			"leakage 0.26 mA, limit at most 0.25 mA"},
		"polarity": {electrical.SafetyForm{Class: "II", Visual: "pass", Polarity: "fail"},
			"polarity reversed"},
	} {
		r, err := electrical.SafetyRules{}.Judge(c.form, electrical.Nameplate{}, testDay)
		require.NoError(t, err, name)
		assert.False(t, r.Pass, name)
		assert.Equal(t, c.hold, r.Hold, name)
	}
	_, err := electrical.SafetyRules{}.Judge(electrical.SafetyForm{Class: "I", Visual: "pass",
		Earth: "1.075"}, electrical.Nameplate{},
		testDay)
	assert.ErrorContains(t, err, "is missing for class I", "below, the cord is asked")
}

// Source: IET Code of Practice, 4th edition: 0.75 mA. A reading is held against it as it was typed, not as it
// would be rounded to a microampere; an earth reading, not as rounded to a micro-ohm.
func TestReadingsAreComparedBeforeRounding(t *testing.T) {
	form := passingI()
	form.Leakage = "0.7504"
	r := judge(t, form)
	assert.Equal(t, "leakage 0.7504 mA, limit at most 0.75 mA", r.Hold)
	form.Leakage = "0.75"
	assert.True(t, judge(t, form).Pass)
	form.Earth = "0.15200004"
	assert.False(t, judge(t, form).Pass, "0.1 + 2 × 0.026 Ω")
}
