package letters

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestHalve(t *testing.T) {
	for text, want := range map[string][]string{
		"do not plug in: not safety tested": {"do not plug in:", "not safety tested"},
		"27 kg cast iron: two people lift":  {"27 kg cast iron:", "two people lift"},
		"two people lift it":                {"two people", "lift it"},
		"i i i i WWWWWW":                    {"i i i i", "WWWWWW"},
		"WWWWWW i i i i":                    {"WWWWWW", "i i i i"},
		"lift":                              {"lift"},
		"":                                  {""},
	} {
		assert.Equal(t, want, Halve(text, Bold), text)
	}
}

func TestEllipsis(t *testing.T) {
	width := func(text string) float64 { return Regular.Width(text, 1) }
	assert.Equal(t, "Meadowlark…", Ellipsis("Meadowlark", Regular, width("Meadowlark…")),
		"there is room for both")
	assert.Equal(t, "Meadow…", Ellipsis("Meadowlark", Regular, width("Meadow…")))
	assert.Equal(t, "Meadow…", Ellipsis("Meadow lark", Regular, width("Meadow …")),
		"no blank before it")
}
