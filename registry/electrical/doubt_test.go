package electrical_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/electrical"
	"pitman/registry/measure"
)

// Source: NBS Handbook 100, solid copper at 20 °C: AWG 16 is 13.17 and AWG 18 20.95 mΩ/m. AWG 14 is worked
// out from the gauge formula, 2.08 mm² at 17.241 nΩ·m: 8.28 mΩ/m. 1.25 mm²: IET Code of Practice, from
// memory.
func TestEarthLimitOfGaugesAndOddSizes(t *testing.T) {
	for area, want := range map[string]float64{"AWG 18": 0.1419, "18awg": 0.1419, "AWG16": 0.12634,
		"14 AWG": 0.116568, "1.25": 0.1312} {
		form := passingI()
		form.CordArea, form.Earth = area, "0.1"
		r := judge(t, form)
		assert.InDelta(t, want, limitOf(t, r, "earth").Limit, 1e-6, area)
	}
	form := passingI()
	form.CordArea, form.Fuse = "AWG 18", "13"
	assert.Contains(t, judge(t, form).Hold, "fuse 13 A, and the cord of AWG 18 carries 10 A")
}

// A failure is recorded, whatever else is odd; only what would pass is asked once more.
func TestDoubtsHoldUpAPassAlone(t *testing.T) {
	form := passingI()
	form.CordLength, form.Earth = "18", "0.3" // 0.1 Ω + 18 m × 26 mΩ/m = 0.568 Ω
	form.LongCord = true
	assert.True(t, judge(t, form).Pass)
	form.LongCord, form.Insulation = false, "0.4"
	assert.Contains(t, judge(t, form).Hold, "insulation 0.4 MΩ")

	form = passingI()
	form.Earth = "0.026" // half of 2 m × 26 mΩ/m
	assert.True(t, judge(t, form).Pass)
	form.Earth = "0.025"
	_, err := electrical.SafetyRules{}.Judge(form, electrical.Nameplate{}, testDay)
	assert.ErrorContains(t, err, "below half of the cord's own resistance of 0.052 Ω: null the lead")
	assert.ErrorContains(t, form.Check(), "null the lead", "it is said where the figure is typed")
	form.Earth = "5"
	assert.NoError(t, form.Check())
}

// Source: IET Code of Practice, 5th edition (2020): 5 mA for all classes. It counts only where the house
// chooses it.
func TestFifthEditionIsTheHousesChoice(t *testing.T) {
	fifth := electrical.SafetyRules{Limits: electrical.SafetyLimits{Edition: 5}}
	for _, form := range []electrical.SafetyForm{passingI(), passingII()} {
		form.Leakage = "5"
		assert.False(t, judge(t, form).Pass)
		r, err := fifth.Judge(form, electrical.Nameplate{}, testDay)
		require.NoError(t, err)
		assert.True(t, r.Pass, r.Hold)
		assert.Contains(t, limitOf(t, r, "leakage").Source, "5th edition")
		form.Leakage = "5.01"
		r, err = fifth.Judge(form, electrical.Nameplate{}, testDay)
		require.NoError(t, err)
		assert.False(t, r.Pass)
	}
	_, err := electrical.SafetyLimits{Edition: 5, LeakageIMA: 4}.Tightened()
	assert.NoError(t, err)
	_, err = electrical.SafetyLimits{Edition: 5, LeakageIMA: 6}.Tightened()
	assert.ErrorContains(t, err, "looser than the published 5")
	_, err = electrical.SafetyLimits{Edition: 6}.Tightened()
	assert.ErrorContains(t, err, "edition 6 in [safety.limits] is not known")
}

// Insulation at 250 V has the limits of 500 V, and its limit says which it was.
func TestInsulationAt250Volts(t *testing.T) {
	form := passingII()
	form.InsulationVolts, form.Surge, form.Insulation = "250 V", true, "1.99"
	r := judge(t, form)
	assert.False(t, r.Pass)
	assert.Equal(t, "250", r.Form.InsulationVolts)
	assert.Contains(t, limitOf(t, r, "insulation").Source, "at 250 V d.c., for surge protection")
	form.Surge, form.Electronics, form.Insulation = false, true, "2"
	r = judge(t, form)
	assert.True(t, r.Pass)
	assert.Contains(t, limitOf(t, r, "insulation").Source, "for electronics")
	assert.Contains(t, limitOf(t, judge(t, passingII()), "insulation").Source, "at 500 V d.c.")
}

// Class III: at most 50 V a.c. (IEC 61140, from memory).
func TestClassIII(t *testing.T) {
	form := electrical.SafetyForm{Class: "3", Visual: "pass", Adapter: "pass", Volts: "50"}
	r := judge(t, form)
	assert.True(t, r.Pass, r.Hold)
	assert.Empty(t, r.Limits)
	for says, c := range map[string]electrical.SafetyForm{
		"class III runs on at most 50 V a.c.":   {Class: "III", Visual: "pass", Adapter: "pass", Volts: "51"},
		"volts are missing for class III":       {Class: "III", Visual: "pass", Adapter: "pass"},
		"adapter is missing for class III":      {Class: "III", Visual: "pass", Volts: "12"},
		"visual is missing":                     {Class: "III", Adapter: "pass", Volts: "12"},
		"leakage is not accepted: class III is": {Class: "III", Visual: "pass", Volts: "12", Leakage: "0.1"},
	} {
		_, err := electrical.SafetyRules{}.Judge(c, electrical.Nameplate{}, testDay)
		assert.ErrorContains(t, err, says)
	}
	_, err := electrical.SafetyRules{}.Judge(electrical.SafetyForm{Class: "III", Visual: "pass",
		Adapter: "pass"},
		electrical.Nameplate{Volts: measure.Rating{{Low: 220, High: 240}}}, testDay)
	assert.ErrorContains(t, err, "the plate says 220–240 V")
	assert.Equal(t, "adapter failed its look",
		judge(t, electrical.SafetyForm{Class: "III", Visual: "pass", Adapter: "fail"}).Hold)
}
