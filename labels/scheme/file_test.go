package scheme

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels"
)

func TestSchemeFromAFile(t *testing.T) {
	got, err := Parse("house.toml", []byte(`
[scheme]
base_url = "https://SHED.EXAMPLE/M/"
[scheme.drive]
hand = {word = "ΧΕΙΡΟΚΙΝΗΤΗ", colour = "#ee9944"}
[scheme.stage.bench]
pattern = "bricks"
`))
	require.NoError(t, err)
	want := labels.Default()
	want.BaseURL = "https://SHED.EXAMPLE/M/"
	hand, bench := want.Drive["hand"], want.Stage["bench"]
	hand.Word, hand.Colour, bench.Pattern = "ΧΕΙΡΟΚΙΝΗΤΗ", mustColour("#ee9944"), "bricks"
	want.Drive["hand"], want.Stage["bench"] = hand, bench
	assert.Equal(t, want, got, "what the house leaves out stays as it was")

	again, err := Parse("again", TOML(got))
	require.NoError(t, err)
	assert.Equal(t, got, again)
	empty, err := Parse("empty", nil)
	require.NoError(t, err)
	assert.Equal(t, labels.Default(), empty)
}

func TestSchemeFilesThatAreWrong(t *testing.T) {
	for text, want := range map[string]string{
		"[scheme]\ncolor = 1":                           `f.toml: "scheme.color" is no setting of a scheme`,
		"[house]\nname = \"x\"":                         `f.toml: "house" is no setting of a scheme`,
		"[scheme]\ntext = \"red\"":                      `colour "red" is not a colour`,
		"[scheme.drive]\nhand = {pattern = \"tartan\"}": `f.toml, [scheme.drive] hand: pattern "tartan" is not known`,
		"[scheme.drive]\nsteam = {word = \"STEAM\"}":    `f.toml, [scheme.drive] steam: there is no such drive`,
		"[scheme":                  "f.toml: ",
		"[scheme.drive]\nhand = 7": "f.toml: ",
	} {
		_, err := Parse("f.toml", []byte(text))
		assert.ErrorContains(t, err, want, text)
	}
}

func TestReplaceSchemeKeepsTheRest(t *testing.T) {
	house := "# ours\n[house]\nname = \"Shed\" # [scheme]\n\n[scheme]\ntext = " +
		"\"#111111\"\n[scheme.drive]\nhand = {}\n\n[backup]\nkeep = 3\n[ scheme.stage ]\n"
	got := string(Replace(labels.Default(), []byte(house)))
	assert.True(t,
		strings.HasPrefix(got,
			"# ours\n[house]\nname = \"Shed\" # [scheme]\n\n[backup]\nkeep = 3\n\n[scheme]\nstock = "), got)
	assert.Equal(t, 1, strings.Count(got, "[scheme.drive]"))
	assert.Equal(t, got, string(Replace(labels.Default(), []byte(got))), "a second time changes nothing")

	// What is said below the scheme is about what follows it, be that a section or settings that are only
	// offered.
	house = "[scheme]\n# of the scheme\ntext = \"#111111\"\n# of its drives\n[scheme.drive]\nhand = " +
		"{}\n\n# of backups\n\n# really\n[backup]\nkeep = 3\n" +
		"[scheme.stage]\nheld = {}\n# [desk]\n# idle_minutes = 5\n"
	got = string(Replace(labels.Default(), []byte(house)))
	assert.True(t,
		strings.HasPrefix(got,
			"# of backups\n\n# really\n[backup]\nkeep = 3\n# [desk]\n# idle_minutes = 5\n\n[scheme]\nstock = "), got)
}

func FuzzParseScheme(f *testing.F) {
	f.Add(TOML(labels.Default()))
	f.Add([]byte("[scheme.drive]\nhand = {word = \"\\u0000\"}"))
	f.Add([]byte("[scheme]\nbase_url = \"HTTP://A/\""))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := Parse("f.toml", text)
		if err != nil {
			return
		}
		again, err := Parse("again", TOML(s))
		require.NoError(t, err)
		assert.Equal(t, s.Drive["hand"].Colour, again.Drive["hand"].Colour)
		Check(s, 0)
	})
}
