package electrical_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/electrical"
)

func TestNotApplicableByPlug(t *testing.T) {
	form := passingII()
	form.Polarity, form.Fuse, form.Plug = "n/a", "N/A", "C"
	r := judge(t, form)
	assert.True(t, r.Pass)
	assert.Len(t, r.Notes, 2)
	assert.Equal(t, "C", r.Nameplate.Plug)

	// What an earlier test recorded of the plug still holds when this one does not name it.
	form = passingII()
	form.Polarity = "n/a"
	_, err := electrical.SafetyRules{}.Judge(form, electrical.Nameplate{Plug: "G"}, testDay)
	assert.ErrorContains(t, err,
		"polarity cannot be n/a: a type G plug, as recorded before (give its plug if it has another now), "+
			"fits one way round only, type pass or fail")
	form.Polarity, form.Fuse = "pass", "n/a"
	_, err = electrical.SafetyRules{}.Judge(form, electrical.Nameplate{Plug: "G"}, testDay)
	assert.ErrorContains(t, err, "fuse cannot be n/a")
	form.Plug = "C"
	_, err = electrical.SafetyRules{}.Judge(form, electrical.Nameplate{Plug: "G"}, testDay)
	assert.NoError(t, err, "it has another plug now")
}

// Earthed plugs: check values of plug types, A and C have no earth. Cord ratings: IET Code of Practice, table
// of cords.
func TestClassINeedsAnEarthedPlugAndAFuseThatItsCordCarries(t *testing.T) {
	for _, c := range []struct {
		plug, fuse, area string
		pass             bool
	}{{"G", "3", "0.75", true}, {"C", "n/a", "0.75", false}, {"A", "n/a", "0.75", false},
		{"F", "n/a", "0.75", true},
		{"G", "3", "0.5", true}, {"G", "13", "0.5", false}, {"G", "13", "0.75", false},
		{"G", "13", "1.25", true}} {
		form := passingI()
		form.Plug, form.Fuse, form.CordArea = c.plug, c.fuse, c.area
		assert.Equal(t, c.pass, judge(t, form).Pass, "%+v", c)
	}
}

// Common practice: the earth is measured between bare metal and the earth pin of the plug itself.
func TestClassIWithoutALetterIsEarthedAndUnnamed(t *testing.T) {
	form := passingI()
	form.Plug = ""
	r := judge(t, form)
	assert.True(t, r.Pass, r.Hold)
	assert.True(t, r.Nameplate.Earthed)
	assert.Empty(t, r.Nameplate.Plug)
	assert.Equal(t, "plug earthed, its letter not named", r.Nameplate.PlugSaid())

	named, err := electrical.SafetyRules{}.Judge(passingI(), r.Nameplate, testDay)
	require.NoError(t, err)
	assert.Equal(t, "plug type G", named.Nameplate.PlugSaid())
	assert.False(t, named.Nameplate.Earthed, "the letter says it")

	onPlate, err := electrical.SafetyRules{}.Judge(form, electrical.Nameplate{Plug: "A"}, testDay)
	require.NoError(t, err)
	assert.Equal(t, "class I on a plug of type A, which has no earth", onPlate.Hold)

	form.Insulation = "0.5"
	failed, err := electrical.SafetyRules{}.Judge(form, r.Nameplate, testDay)
	require.NoError(t, err)
	assert.False(t, failed.Nameplate.Earthed, "what failed shows nothing of the plug")
}
