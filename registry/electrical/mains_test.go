package electrical_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/measure"
)

func TestParseMainsSupply(t *testing.T) {
	for typed, want := range map[string]electrical.MainsSupply{
		"230V/50Hz/G":         "230V/50Hz/G",
		" 230 v / 50 hz / g ": "230V/50Hz/G",
		"120/60/a":            "120V/60Hz/A",
		"230V":                "230V",
		"230V/50":             "230V/50Hz",
		"":                    "",
	} {
		got, err := electrical.ParseMainsSupply(typed)
		require.NoError(t, err, typed)
		assert.Equal(t, want, got)
	}
	for _, typed := range []string{"50Hz", "230V/55Hz", "230V/50Hz/Z", "230V/50Hz/GG", "230V/50Hz/G/G", "G",
		"2300V", "V", "/", "230V/Hz"} {
		_, err := electrical.ParseMainsSupply(typed)
		assert.ErrorContains(t, err, "supply \""+typed+"\"", typed)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	}
}

func FuzzParseMainsSupply(f *testing.F) {
	for _, seed := range []string{"230V/50Hz/G", "120/60/A", "230V", "", "/", "-1V", "230V//G"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		got, err := electrical.ParseMainsSupply(typed)
		if err != nil {
			return
		}
		again, err := electrical.ParseMainsSupply(string(got))
		if err != nil || again != got {
			t.Fatalf("%q became %q, which reads as %q, %v", typed, got, again, err)
		}
	})
}

func TestSupplyRefuses(t *testing.T) {
	volts := func(low, high int) measure.Rating { return measure.Rating{{Low: low, High: high}} }
	for name, c := range map[string]struct {
		supply electrical.MainsSupply
		plate  electrical.Nameplate
		want   string
	}{
		"unknown supply asks nothing": {"", electrical.Nameplate{}, ""},
		"within ten per cent": {"230V/50Hz/G",
			electrical.Nameplate{Volts: volts(253, 253), Motor: "brush"}, ""},
		"one volt more": {"230V/50Hz/G", electrical.Nameplate{Volts: volts(254, 254), Motor: "brush"},
			"nameplate 254 V, supply 230 V ± 10 %: 24 V off"},
		"a span that covers it": {"230V/50Hz/G",
			electrical.Nameplate{Volts: volts(220, 240), Hertz: volts(50, 50)}, ""},
		"two voltages": {"120V/60Hz/A",
			electrical.Nameplate{Volts: append(volts(110, 110), volts(220, 220)...), Motor: "brush"}, ""},
		"brushes turn at any hertz": {"230V/50Hz/G",
			electrical.Nameplate{Volts: volts(230, 230), Hertz: volts(60, 60), Motor: "brush"}, ""},
		"induction does not": {"230V/50Hz/G",
			electrical.Nameplate{Volts: volts(230, 230), Hertz: volts(60, 60), Motor: "induction"},
			"nameplate 60 Hz, supply 50 Hz, and its motor is not known to have brushes"},
		"nor may an unknown motor": {"230V/50Hz/G", electrical.Nameplate{Volts: volts(230, 230)},
			"nameplate hertz are not known, and they count for a motor that is not known to have brushes"},
		"no hertz in the supply": {"230V", electrical.Nameplate{Volts: volts(230, 230)}, ""},
		"no volts on the plate": {"230V", electrical.Nameplate{Motor: "brush"},
			"nameplate volts are not known: read them off the motor"},
	} {
		assert.Equal(t, c.want, c.supply.Refuses(c.plate, 10), name)
	}
}
