package labels

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSchemeFromAFile(t *testing.T) {
	got, err := ParseScheme("house.toml", []byte(`
[scheme]
base_url = "https://SHED.EXAMPLE/M/"
[scheme.drive]
hand = {word = "ΧΕΙΡΟΚΙΝΗΤΗ", colour = "#ee9944"}
[scheme.stage.bench]
pattern = "bricks"
`))
	require.NoError(t, err)
	want := Default()
	want.BaseURL = "https://SHED.EXAMPLE/M/"
	hand, bench := want.Drive["hand"], want.Stage["bench"]
	hand.Word, hand.Colour, bench.Pattern = "ΧΕΙΡΟΚΙΝΗΤΗ", mustColour("#ee9944"), "bricks"
	want.Drive["hand"], want.Stage["bench"] = hand, bench
	assert.Equal(t, want, got, "what the house leaves out stays as it was")

	again, err := ParseScheme("again", got.TOML())
	require.NoError(t, err)
	assert.Equal(t, got, again)
	empty, err := ParseScheme("empty", nil)
	require.NoError(t, err)
	assert.Equal(t, Default(), empty)
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
		_, err := ParseScheme("f.toml", []byte(text))
		assert.ErrorContains(t, err, want, text)
	}
}

func TestReplaceSchemeKeepsTheRest(t *testing.T) {
	house := "# ours\n[house]\nname = \"Shed\" # [scheme]\n\n[scheme]\ntext = " +
		"\"#111111\"\n[scheme.drive]\nhand = {}\n\n[backup]\nkeep = 3\n[ scheme.stage ]\n"
	got := string(Default().ReplaceScheme([]byte(house)))
	assert.True(t,
		strings.HasPrefix(got,
			"# ours\n[house]\nname = \"Shed\" # [scheme]\n\n[backup]\nkeep = 3\n\n[scheme]\nstock = "), got)
	assert.Equal(t, 1, strings.Count(got, "[scheme.drive]"))
	assert.Equal(t, got, string(Default().ReplaceScheme([]byte(got))), "a second time changes nothing")

	// What is said below the scheme is about what follows it, be that a section or settings that are only
	// offered.
	house = "[scheme]\n# of the scheme\ntext = \"#111111\"\n# of its drives\n[scheme.drive]\nhand = " +
		"{}\n\n# of backups\n\n# really\n[backup]\nkeep = 3\n" +
		"[scheme.stage]\nheld = {}\n# [desk]\n# idle_minutes = 5\n"
	got = string(Default().ReplaceScheme([]byte(house)))
	assert.True(t,
		strings.HasPrefix(got,
			"# of backups\n\n# really\n[backup]\nkeep = 3\n# [desk]\n# idle_minutes = 5\n\n[scheme]\nstock = "), got)
}

func FuzzParseScheme(f *testing.F) {
	f.Add(Default().TOML())
	f.Add([]byte("[scheme.drive]\nhand = {word = \"\\u0000\"}"))
	f.Add([]byte("[scheme]\nbase_url = \"HTTP://A/\""))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := ParseScheme("f.toml", text)
		if err != nil {
			return
		}
		again, err := ParseScheme("again", s.TOML())
		require.NoError(t, err)
		assert.Equal(t, s.Drive["hand"].Colour, again.Drive["hand"].Colour)
		s.Check(0)
	})
}
