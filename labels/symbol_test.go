package labels

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPayload(t *testing.T) {
	for _, row := range []struct{ base, tag, want string }{
		{"", "AB00123K", "AB00123K"},
		{"", "ab00123k", "AB00123K"},
		{"https://shed.example/", "AB00123K", "HTTPS://SHED.EXAMPLE/AB00123K"},
		{"https://shed.example/M/", "AB00123K", "HTTPS://SHED.EXAMPLE/M/AB00123K"},
		{"http://10.0.0.5:8080/", "AB00123K", "HTTP://10.0.0.5:8080/AB00123K"},
	} {
		got, err := payloadFor(row.base, row.tag)
		require.NoError(t, err, row.base)
		assert.Equal(t, row.want, got)
	}
	for base, want := range map[string]string{
		"shed.example/M/":     "is not a web address",
		"ftp://shed.example/": "is not a web address",
		"https://":            "names no host",
		"https:///x":          "names no host",
		"https://shed.example/m/": "has small letters in its path, and the QR symbol is in capitals: " +
			"let your server answer to \"HTTPS://SHED.EXAMPLE/M/\" and type that",
		"http":                       "names no host",
		"https://shed.example/M:":    `must end in /, since the tag follows it: type "https://shed.example/M:/"`,
		"https://shed.example":       `must end in /, since the tag follows it: type "https://shed.example/"`,
		"https://shed.example/?TAG=": `has '?' in it`,
		"https://shed.example/A_B/":  `has '_' in it`,
		"https://σ.example/":         "has 'Σ' in it",
		"https://shed.example/ A/":   "has ' ' in it",
	} {
		_, err := payloadFor(base, "AB00123K")
		assert.ErrorContains(t, err, want, base)
	}
	for _, tag := range []string{"AB_1", "_AB1", "AB1é"} {
		_, err := payloadFor("", tag)
		assert.ErrorContains(t, err, fmt.Sprintf("tag %q cannot stand in a QR symbol", tag))
	}
}

// Capacities in alphanumeric mode: ISO/IEC 18004, table of versions 1 and 2: a tag must get the
// smallest symbol.
func TestSmallestSymbol(t *testing.T) {
	for _, row := range []struct {
		chars int
		level Level
		side  int
	}{
		{25, "low", 21}, {26, "low", 25}, {20, "medium", 21}, {21, "medium", 25}, {16, "quartile", 21},
		{17, "quartile", 25}, {10, "high", 21}, {11, "high", 25},
	} {
		code, err := encode(strings.Repeat("A", row.chars), row.level)
		require.NoError(t, err)
		assert.Equal(t, row.side+2*QuietZone, code.Side(), "%d characters, %s", row.chars, row.level)
		for i, modules := range code {
			for j, dark := range modules {
				if i < QuietZone || j < QuietZone || i >= code.Side()-QuietZone ||
					j >= code.Side()-QuietZone {
					require.False(t, dark, "the quiet zone is light")
				}
			}
		}
	}
	_, err := encode("A", "max")
	assert.ErrorContains(t, err, "type low, medium, quartile or high")
	_, err = encode(strings.Repeat("A", 5000), "high")
	assert.Error(t, err)
}

func TestRunsCoverEveryDarkModuleOnce(t *testing.T) {
	code, err := encode("AB00123K", "high")
	require.NoError(t, err)
	dark, area := 0, 0.0
	for _, row := range code {
		for _, m := range row {
			if m {
				dark++
			}
		}
	}
	for _, r := range code.modules().rings() {
		area += r[1].x - r[0].x
		at := point{(r[0].x + r[1].x) / 2, (r[0].y + r[2].y) / 2}
		assert.True(t, code[int(at.y)][int(at.x)])
	}
	assert.InDelta(t, float64(dark), area, 1e-9)
}
