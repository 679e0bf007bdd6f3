package mains_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/mains"
)

func TestWhatNobodySpokeOf(t *testing.T) {
	var p mains.Parts
	assert.Len(t, p.On(true), len(mains.Kinds), "an electric head may have every part until somebody looks")
	assert.Empty(t, p.On(false))
	p = p.Set("lamp", mains.Fitted)
	assert.Equal(t, "lamp fitted", p.On(false).String(), "a lamp on a hand machine takes the mains")
	assert.Equal(t, mains.Unknown, p.Of("motor", true))
}

func TestAccountedFor(t *testing.T) {
	var p mains.Parts
	for _, kind := range mains.Kinds {
		assert.NotEmpty(t, p.On(true), kind)
		p = p.Set(kind, mains.Off)
	}
	assert.Empty(t, p.On(true))
	p = p.Set("plug", mains.Failed)
	assert.Equal(t, "plug failed", p.On(true).String())
	assert.Equal(t, mains.Fitted, p.Look(true).Of("plug", true))
	assert.Equal(t, mains.Off, p.Look(true).Of("motor", true), "a look puts nothing on")
}

func TestPartsFromElsewhere(t *testing.T) {
	for text, says := range map[string]string{
		`[{"part":"motor","state":"off"}]`:                                   "",
		`[{"part":"engine","state":"off"}]`:                                  `part "engine"`,
		`[{"part":"motor","state":"gone"}]`:                                  `state "gone"`,
		`[{"part":"motor","state":"off"},{"part":"motor","state":"fitted"}]`: "stands twice",
	} {
		var p mains.Parts
		require.NoError(t, json.Unmarshal([]byte(text), &p))
		if err := p.Check(); says == "" {
			assert.NoError(t, err)
		} else {
			assert.ErrorContains(t, err, says)
		}
	}
	text, err := json.Marshal(mains.Parts(nil))
	require.NoError(t, err)
	assert.Equal(t, "[]", string(text))
}

func TestInSpare(t *testing.T) {
	assert.Equal(t, []string{"cord", "plug"}, mains.InSpare("cord"))
	assert.Equal(t, []string{"plug"}, mains.InSpare("plug-g"))
	assert.Equal(t, []string{"plug"}, mains.InSpare("plug"))
	assert.Equal(t, []string{"motor"}, mains.InSpare("motor"))
	assert.Empty(t, mains.InSpare("handwheel"))
}

// What people write on the bench of what carries the mains (common usage, from memory).
func TestANoteThatNamesTheMains(t *testing.T) {
	for _, note := range []string{"new Foot control fitted", "plug changed", "new flex", "Re-soldered the lead",
		"rewired", "fuse 3 A", "wires tidied", "carbon brushes", "motor oiled", "earth tag tightened",
		"new mains inlet fitted", "brushes replaced", "new thermostat and relay", "put on a new power line",
		"swapped the transformer", "dimmer and rectifier changed", "neutral tightened",
		"fitted a new three-pin", "taped the frayed braid", "strain relief renewed", "new rheostat",
		"speed controller opened", "13A one put in", "Live tightened", "2 pin changed", "rewire, brushes too",
		"Rewire brushes"} {
		assert.True(t, mains.Named(note), note)
	}
	for _, note := range []string{"", "cleaned and oiled", "lint under the feed dog", "timing set; tension 2",
		"brushed out", "oiled and freed", "rust off with wire wool", "clamp tightened", "lightly oiled",
		"cover lined with felt", "tapered pin driven in", "according to the book"} {
		assert.False(t, mains.Named(note), note)
	}
}
