package house_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/electrical"
	"pitman/registry/house"
)

// What house.toml shows in its comments is what holds: with every comment sign before a setting taken away,
// nothing changes but the examples.
func TestStarterShowsTheDefaults(t *testing.T) {
	text := newConfig(t)
	shown := regexp.MustCompile(`(?m)^# (\[[a-z.]+\] *(?:#.*)?$|[a-z_0-9]+ = )`).ReplaceAllString(string(text), "$1")
	require.NotEqual(t, string(text), shown)
	config, err := house.ParseConfig([]byte(shown))
	require.NoError(t, err, shown)
	assert.Equal(t, []string{"QX"}, config.Safety.Competent, "an example")
	assert.Equal(t, []string{"QX"}, config.House.Coordinators, "an example")
	assert.Len(t, config.Safety.Instruments, 1, "an example")
	assert.Len(t, config.Safety.PassesFrom, 1, "an example")
	assert.Equal(t, electrical.PublishedSafetyLimits(), config.Safety.Limits)
	assert.Len(t, config.Order.Declared, 3, "an example")
	assert.Len(t, config.Worklist.Skills, 2, "an example")
	config.Worklist.Skills = nil
	assert.Len(t, config.House.ID, 32, "of this house's registry")
	want := house.Defaults()
	want.House.ID = config.House.ID
	config.Order.Declared, config.House.Coordinators = nil, nil
	config.Backup.Also, config.Backup.ForTo = "", nil
	config.Safety.PassesFrom = nil
	config.Safety.Competent, config.Safety.Instruments, config.Safety.Limits = nil, nil,
		electrical.SafetyLimits{}
	assert.Equal(t, want, config)
}

func TestGateSettingsAreChecked(t *testing.T) {
	twice := `[[safety.instruments]]
id = "A"
calibrated = "2031-01-01"
[[safety.instruments]]
id = "a"
calibrated = "2032-01-01"
`
	for text, says := range map[string]string{
		"[test]\nsecond_person = [\"steam\"]":                          `second_person "steam" in [test] is no drive`,
		"[test]\nstitch_tolerance_mm = -1":                             "stitch_tolerance_mm -1 in [test]",
		"[test]\nstitch_tolerance_mm = nan":                            "stitch_tolerance_mm NaN in [test]",
		"[heritage]\nasked_for = [\"ready\"]":                          `asked_for "ready" in [heritage] is no way out`,
		"[heritage]\nyears = -1":                                       "years -1 in [heritage]",
		"[safety]\ncompetent = [\"Quentin X\"]":                        "competent in [safety]",
		"[safety]\nvalid_days = -1":                                    "valid_days -1 in [safety]",
		"[safety]\ninstruments = [{calibrated = \"2031-01-01\"}]":      "an instrument in [safety] has no id",
		"[safety]\ninstruments = [{id = \"A\"}]":                       "instrument A in [safety] has no calibration date",
		"[safety]\ninstruments = [{id = \"A\", calibrated = \"May\"}]": `instrument A in [safety] has the date "May"`,
		"[safety.limits]\nearth_ohm = 0.2": "earth_ohm 0.2 in [safety.limits] is looser than the published " +
			"0.1",
		"[safety.limits]\ninsulation_2_mohm = nan":       "insulation_2_mohm NaN in [safety.limits]",
		"[worklist]\nprior_passed = 3\nprior_tested = 2": "prior_passed of at most prior_tested",
		"[worklist]\nheld_days = -1":                     "held_days and prior_tested of 0 or more",
		twice:                                            "instrument a in [safety] stands twice",
		"[safety]\ncompetent = [\"el\"]\n[test]\nsecond_person = []\n#": "",
	} {
		config, err := house.ParseConfig([]byte(text))
		if says == "" {
			require.NoError(t, err)
			assert.Equal(t, []string{"EL"}, config.Safety.Competent)
			assert.Empty(t, config.Test.SecondPerson, "an empty list is a decision, not a gap")
			continue
		}
		assert.ErrorContains(t, err, says)
		assert.True(t, strings.HasPrefix(err.Error(), "house.toml"), "%v", err)
	}
}
