package house_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/house"
	"pitman/registry/orders"
)

func TestOrderSettingsAreChecked(t *testing.T) {
	const kind = "[[crates.kind]]\nfor = \"hand\"\nlength_mm = 500\nwidth_mm = 300\nheight_mm = 300\n"
	for text, says := range map[string]string{
		"[order]\ncurrency = \"Euro\"": `[order] currency "Euro" is not a code`,
		"[order]\nvolts_tolerance_percent = 50": "volts_tolerance_percent 50 in [order] is no " +
			"tolerance",
		"[order]\ndeclared = {table = 3}":               `declared value 3 for "table" in [order]`,
		"[order]\ndeclared = {hand = -3}":               `declared value -3 for "hand" in [order]`,
		"[printer.shed]\nright = -30":                   "right -30 in [printer.shed] is no small correction",
		"[printer.shed]\ndown = nan":                    "down NaN in [printer.shed] is no small correction",
		"[printer.shed]\ndpi = 20":                      "dpi 20 in [printer.shed]",
		"[crates]\nkerf_mm = -1":                        "kerf_mm -1 in [crates] is no measure",
		"[crates]\ntop_margin_mm = nan":                 "top_margin_mm NaN in [crates] is no measure",
		"[crates]\nbuy_mm = 50":                         "buy_mm 50 in [crates] is no board",
		"[[crates.kind]]\nfor = \"table\"":              `for "table" in [[crates.kind]] is not known`,
		"[[crates.kind]]\nfor = \"hand\"":               "of the crate for hand is no size",
		kind + kind:                                     "[[crates.kind]] for hand stands twice",
		kind + "tare_kg = -1":                           "the crate for hand has a negative or absurd tare_kg",
		kind + "part = [{name = \"a\", length_mm = 3}]": "a part of the crate for hand is not whole",
	} {
		_, err := house.ParseConfig([]byte(text))
		assert.ErrorContains(t, err, says, text)
	}
	config, err := house.ParseConfig([]byte(kind))
	require.NoError(t, err)
	_, known := config.Crates.CrateFor(orders.TreadleSet)
	assert.False(t, known, "a house that lists its crates lists them all")
	_, known = house.Defaults().Crates.CrateFor(orders.TreadleSet)
	assert.True(t, known)
}

// Whoever edits the file is told what a setting takes, and no type of the program.
func TestASettingOfAnotherKindIsToldForPeople(t *testing.T) {
	for text, want := range map[string]string{
		"[printer.shed]\ndown = \"x\"": "house.toml:2: printer.shed.down takes a number: type that",
		"[printer.shed]\nmono = 3":     "house.toml:2: printer.shed.mono takes true or false: type that",
		"[printer.shed]\nstock = 3": "house.toml:2: printer.shed.stock takes a text in quotation marks: " +
			"type that",
		"[safety]\ncompetent = \"QX\"": "house.toml:2: safety.competent takes a list in square brackets: " +
			"type that",
		"[worklist]\nheld_days = \"14\"": "house.toml:2: worklist.held_days takes a number: type that",
	} {
		_, err := house.ParseConfig([]byte(text))
		assert.EqualError(t, err, want)
	}
}
