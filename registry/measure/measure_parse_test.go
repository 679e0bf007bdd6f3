package measure_test

import (
	"encoding/json"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/measure"
)

func TestParseLength(t *testing.T) {
	// The inch is 25.4 mm exactly: international yard and pound agreement, 1959. The rest is decimal.
	for text, want := range map[string]measure.Length{
		"241":           241_000,
		"241 mm":        241_000,
		"24,1 cm":       241_000,
		"0.241m":        241_000,
		"1 in":          25_400,
		"14 1/2 in":     368_300,
		"14½ in":        368_300,
		`14 1/2"`:       368_300,
		"14 1/2″":       368_300,
		"3/8 in":        9_525,
		"1/64 inch":     397, // 396.875 µm
		"9.5 INCHES":    241_300,
		"0,125 in":      3_175,
		"1.250":         1_250,
		"1,25":          1_250,
		" 371\u00a0mm ": 371_000,
	} {
		got, err := measure.ParseLength("pins", text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
}

func TestParseMass(t *testing.T) {
	// The pound is 453.59237 g exactly: same agreement.
	for text, want := range map[string]measure.Mass{"12.5": 12_500, "850 g": 850, "1 lb": 454,
		"100 lb": 45_359,
		"28 lbs": 12_701, "11,3 kg": 11_300} {
		got, err := measure.ParseMass("weight", text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
}

func TestParseResistanceAndCurrent(t *testing.T) {
	for text, want := range map[string]int64{
		"0.08": 80_000, "80 mΩ": 80_000, "80 mohm": 80_000, "0,08 ohm": 80_000, "0": 0,
		"1 MΩ": 1e12, "1 Mohm": 1e12, "1 M\u2126": 1e12, "2 kohm": 2e9, "1.5 Ω": 1_500_000,
	} {
		got, err := measure.Resistances.Parse("earth", text, "ohm")
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	got, err := measure.Resistances.Parse("insulation", "20", "MΩ")
	require.NoError(t, err)
	assert.Equal(t, 20*int64(measure.Megohm), got)

	for text, want := range map[string]int64{"0.25": 250, "250 µA": 250, "250 uA": 250, "3 A": 3_000_000,
		"0": 0} {
		got, err := measure.Currents.Parse("leakage", text, "mA")
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
}

func TestParseNameplate(t *testing.T) {
	for text, want := range map[string]string{
		"230": "230", "230 V": "230", "220–240 V": "220–240", "220-240 volts": "220–240",
		"220 to 240": "220–240",
		"110/220 V":  "110/220", "100-120/220-240V~": "100–120/220–240", "230 V AC": "230",
		"110 V / 220 V": "110/220",
	} {
		got, err := measure.ParseVolts("volts", text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got.String(), text)
	}
	for text, want := range map[string]string{"50": "50", "50/60 Hz": "50/60", "50-60 Hz": "50–60",
		"25-75 cycles": "25–75", "50 ~": "50"} {
		got, err := measure.ParseHertz("hertz", text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got.String(), text)
	}
}

func TestRatingOff(t *testing.T) {
	switched := measure.Rating{{110, 110}, {220, 220}}
	assert.Equal(t, 0, switched.Off(220))
	assert.Equal(t, 10, switched.Off(230))
	assert.Equal(t, 55, switched.Off(165), "a slash is a choice, not a range")
	assert.Equal(t, 0, measure.Rating{{220, 240}}.Off(230))

	text, err := json.Marshal(measure.Rating{{220, 240}})
	require.NoError(t, err)
	assert.JSONEq(t, `"220–240"`, string(text))
	var back measure.Rating
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, measure.Rating{{220, 240}}, back)
}

func TestRefusedMeasures(t *testing.T) {
	length := func(text string) error { _, err := measure.ParseLength("pins", text); return err }
	mass := func(text string) error { _, err := measure.ParseMass("weight", text); return err }
	earth := func(text string) error { _, err := measure.Resistances.Parse("earth", text, "ohm"); return err }
	leakage := func(text string) error { _, err := measure.Currents.Parse("leakage", text, "mA"); return err }
	volts := func(text string) error { _, err := measure.ParseVolts("volts", text); return err }
	hertz := func(text string) error { _, err := measure.ParseHertz("hertz", text); return err }
	for _, c := range []struct {
		parse     func(string) error
		text, why string
	}{
		{length, "", "is empty"},
		{length, "-5", "is negative"},
		{length, "−5 mm", "is negative"},
		{length, "NaN", "is not a number"},
		{length, "+Inf", "is not a number"},
		{length, "long", "is not a length"},
		{length, "1e3", "is not a length"},
		{length, "5 ft", `unknown unit "ft"`},
		{length, "14 1/2", "fraction without a unit"},
		{length, "1/0 in", "divides by nought"},
		{length, "1,250", "can be read as 1250 or as 1.250"},
		{length, "0", "is nought"},
		{length, "0.0004 mm", "too small"},
		{length, "101 m", "is more than 100 m"},
		{length, "999999999999999", "is more than 100 m"},
		{mass, "2000", "is more than 1000 kg"},
		{mass, "12 st", "unknown unit"},
		{earth, "1 MOHM", "unknown unit"},
		{earth, "-0.1", "is negative"},
		{earth, "nan", "is not a number"},
		{earth, "200000 MΩ", "is more than 100000 MΩ"},
		{leakage, "101 A", "is more than 100 A"},
		{leakage, "0.25 ma", "unknown unit"},
		{volts, "mains", "is not a voltage"},
		{volts, "-230", "is negative"},
		{volts, "240-220", "runs backwards"},
		{volts, "12000", "is not between 6 and 1000"},
		{volts, "230 / ", "is not a voltage"},
		{hertz, "5000", "is not between 15 and 400"},
		{hertz, "Inf", "is not a number"},
	} {
		err := c.parse(c.text)
		if assert.Error(t, err, "%q", c.text) {
			assert.ErrorContains(t, err, c.why)
			assert.ErrorContains(t, err, ": type ")
			assert.Equal(t, registry.Invalid, registry.CodeOf(err))
		}
	}
}

// What is shown can be typed again, and means the same.
func FuzzParseMeasures(f *testing.F) {
	for _, seed := range []string{"241", "14 1/2 in", `3/8"`, "24,1 cm", "1,250", "0.08 ohm", "20 MΩ",
		"80 mΩ", "0.25 mA", "850 g",
		"220–240 V", "50/60 Hz", "110/220", "NaN", "-1", "1e9", "1/0 in", "999999 999999/1 in", "½ in",
		"\x00", "9\xff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if v, err := measure.ParseLength("x", text); err == nil {
			again, err := measure.ParseLength("x", v.String())
			require.NoError(t, err)
			require.Equal(t, v, again)
		}
		if v, err := measure.ParseMass("x", text); err == nil {
			again, err := measure.ParseMass("x", v.String())
			require.NoError(t, err)
			require.Equal(t, v, again)
		}
		if v, err := measure.Resistances.Parse("x", text, "MΩ"); err == nil {
			again, err := measure.Resistances.Parse("x", big.NewRat(v, 1_000_000).FloatString(6), "Ω")
			require.NoError(t, err)
			require.Equal(t, v, again)
		}
		if v, err := measure.Currents.Parse("x", text, "mA"); err == nil {
			again, err := measure.Currents.Parse("x", measure.Current(v).String(), "A")
			require.NoError(t, err)
			require.Equal(t, v, again)
		}
		for _, parse := range []func(string, string) (measure.Rating, error){measure.ParseVolts,
			measure.ParseHertz} {
			if v, err := parse("x", text); err == nil {
				again, err := parse("x", v.String())
				require.NoError(t, err)
				require.Equal(t, v, again)
			}
		}
	})
}
