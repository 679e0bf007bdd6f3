package scheme

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLocate(t *testing.T) {
	const text = `[house]
letters = "PM"

[scheme]
paper = "#f0d8b0" # brown
drive.treadle.colour = "#b4d3c0"

[scheme.drive]
# hand = {word = "NOT THIS"}
hand    = {word = "BY HAND"}

[scheme.stage.held]
word = "ON HOLD"
colour = "#c02000"
`
	for setting, line := range map[string]int{
		"paper": 5, "drive.treadle.colour": 6, "drive.hand.word": 10, "drive.hand.colour": 10,
		"stage.held.colour": 14, "stage.held.ink": 12,
		"drive.electric.colour": 0, "stage.ready.pattern": 0, "text": 0,
	} {
		assert.Equal(t, line, Locate([]byte(text), setting), setting)
	}
}
