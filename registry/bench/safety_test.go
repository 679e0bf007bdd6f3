package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// What a machine is refused while a failed safety test holds it names what ends that hold.
func TestAFailedSafetyTestNamesItsEnd(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	why := "is held by a failed safety test (visual: failed): it is mended on the bench"
	ends := []registry.NextStep{registry.Next("bench start after a failed safety test", tag),
		registry.Next(registry.DoSafetyResult, tag)}
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, why)
	assert.Equal(t, ends, registrytest.NextSteps(t, err))
	_, err = w.Release(registrytest.Ctx, "QX", tag, "")
	assert.ErrorContains(t, err, why)
	assert.Equal(t, ends, registrytest.NextSteps(t, err))
	_, err = w.Amend(registrytest.Ctx, "QX", tag, "", func(m *stock.Machine) error {
		m.Drive = registry.Hand
		return nil
	})
	assert.ErrorContains(t, err, "drive of "+string(tag)+
		" is electric, and only whoever logged it may correct that")
}

// Electrical work is kept as such, so that anybody can set it beside the safety tests later.
func TestElectricalWorkIsKeptAsSuch(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, err := w.BenchNote(registrytest.Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"oil"}})
	require.NoError(t, err)
	_, err = w.BenchNote(registrytest.Ctx, "QX", tag,
		bench.WorkNote{Jobs: []string{"oil", "rewire", "clean"}})
	require.NoError(t, err)
	for _, part := range []string{"handwheel", "motor"} {
		_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: part, Bought: true})
		require.NoError(t, err)
	}
	_, err = w.Convert(registrytest.Ctx, "QX", tag, spares.Conversion{To: registry.Hand})
	require.ErrorContains(t, err, "still has parts on it that take the mains, or may: motor fitted")
	_, err = w.Convert(registrytest.Ctx, "QX", tag, spares.Conversion{To: registry.Hand, Off: mains.Kinds})
	require.ErrorContains(t, err, "who alone may confirm that nothing on a machine takes the mains any more")
	_, err = w.Convert(registrytest.Ctx, "QX", tag,
		spares.Conversion{To: registry.Hand, Off: mains.Kinds, Confirmed: "EL"})
	require.NoError(t, err)
	_, err = w.Convert(registrytest.Ctx, "QX", tag, spares.Conversion{To: registry.Treadle})
	require.NoError(t, err)
	var works []bench.Work
	require.NoError(t,
		w.Store.View(registrytest.Ctx,
			func(r stock.Reader) error { return r.All(&works, stock.Fields{"tag": tag}) }))
	var electrical []bool
	for _, k := range works {
		electrical = append(electrical, k.Electrical)
	}
	assert.Equal(t, []bool{false, true, false, true, true, false}, electrical)
}

// Whoever is not on the house's list records no safety test, passed or failed, and hears so before the first
// question.
func TestOnlyTheCompetentRecordASafetyTest(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	says := "QX is not on the house's list of competent people, who alone may record a safety test (on it: " +
		"EL)"
	_, err := w.MayTestSafety(registrytest.Ctx, "QX", tag)
	assert.ErrorContains(t, err, says)
	for _, form := range []electrical.SafetyForm{registrytest.GoodSafety(), registrytest.FailedSafety()} {
		_, _, err := w.Safety(registrytest.Ctx, "QX", tag, form)
		assert.ErrorContains(t, err, says)
	}
	tests, err := w.SafetyTests(registrytest.Ctx, "")
	require.NoError(t, err)
	assert.Empty(t, tests)
}

// What a tester named with a letter was on the machine, and what was cut off must be there again before
// anything is measured live.
func TestThePlugOfAPass(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	_, err := w.SayMains(registrytest.Ctx, "QX", tag, []stock.PartSaid{{Part: "lamp", State: mains.Fitted}})
	require.NoError(t, err)
	form := registrytest.GoodSafety()
	form.Plug = "G"
	m, _, err := w.Safety(registrytest.Ctx, "EL", tag, form)
	require.NoError(t, err)
	for _, part := range []string{"lamp", "plug", "cord"} {
		assert.Equal(t, mains.Fitted, m.Mains.Of(part, false), part)
	}
	_, err = w.SayMains(registrytest.Ctx, "QX", tag, []stock.PartSaid{{Part: "plug", State: mains.Off}})
	require.NoError(t, err)
	form.Plug = ""
	_, _, err = w.Safety(registrytest.Ctx, "EL", tag, form)
	require.ErrorContains(t, err, "plug is missing: that of "+string(tag)+" was taken off")
	m, err = w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.False(t, w.SafetyStands(m))
	m, _, err = w.Safety(registrytest.Ctx, "EL", tag, electrical.SafetyForm{Class: "II",
		VisualFaults: map[string]string{"cord": "cut near the plug", "strain-relief": "loose"}})
	require.NoError(t, err, "a fail never waits")
	assert.Equal(t, mains.Failed, m.Mains.Of("cord", false))
	form.Plug = "G"
	m, _, err = w.Safety(registrytest.Ctx, "EL", tag, form)
	require.NoError(t, err)
	assert.Equal(t, mains.Fitted, m.Mains.Of("cord", false))
	registrytest.VerifiesClean(t, w)
}

// A refusal names what was tried: a fail is refused as a fail.
func TestAFailThatNobodyMayRecordIsCalledOne(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Packed })
	for _, one := range []struct {
		form  electrical.SafetyForm
		meant string
	}{
		{electrical.SafetyForm{Visual: "fail"}, registry.DoSafeFail},
		{electrical.SafetyForm{VisualFaults: map[string]string{"cord": "cut"}}, registry.DoSafeFail},
		{registrytest.FailedSafety(), registry.DoSafeFail},
		{registrytest.GoodSafety(), registry.DoSafePass},
	} {
		_, _, err := w.Safety(registrytest.Ctx, "EL", tag, one.form)
		require.ErrorContains(t, err, "is at stage packed, and "+one.meant+" is for a machine")
	}
}
