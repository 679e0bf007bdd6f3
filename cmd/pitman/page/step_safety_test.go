package page_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/pin/hash"
)

// testing is a safety test that is taken down on pages, by what each page sends along.
type taking struct {
	*visitor
	at   string
	sent url.Values
	text string
}

func (v *visitor) takesDown(tag registry.Tag) *taking {
	v.t.Helper()
	at := "/m/" + string(tag) + "/safety"
	_, text := v.get(at)
	return &taking{v, at, v.form(at), text}
}

// looks answers the first page: every point is right.
func (t *taking) looks(class string) *taking {
	t.t.Helper()
	answers := []string{"class", class}
	for _, p := range electrical.VisualPoints() {
		answers = append(answers, "look-"+p.Key, "yes")
	}
	return t.answer(answers...)
}

// answer sends the page that stands with answers, and keeps the next.
func (t *taking) answer(answers ...string) *taking {
	t.t.Helper()
	status, text := t.post(t.at, fill(t.sent, answers...))
	require.NotEqual(t.t, http.StatusInternalServerError, status, text)
	t.text, t.sent = text, url.Values{}
	for _, found := range hidden.FindAllStringSubmatch(text, -1) {
		t.sent.Set(found[1], found[2])
	}
	return t
}

// asks says that this is asked now.
func (t *taking) asks(name string) *taking {
	t.t.Helper()
	require.Contains(t.t, t.text, `name="`+name+`"`)
	require.Equal(t.t, name, t.sent.Get("shown"))
	return t
}

func (t *taking) sees(texts ...string) *taking {
	t.t.Helper()
	for _, text := range texts {
		require.Contains(t.t, t.text, text)
	}
	return t
}

// The order of dead and live is that of the IET Code of Practice for In-Service Inspection and Testing of
// Electrical Equipment; 0.152 Ω are 0.1 Ω and 2 m at 26 mΩ/m (IEC 60228), 0.75 mA its 4th edition.
func TestASafetyTestOnPages(t *testing.T) {
	st := newStage(t)
	st.server.Pins.Cost = hash.Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}
	st.server.Config.Safety.Competent = []string{"QX"}
	_, err := st.server.Pins.Set(t.Context(), "QX", "QX", "482911")
	require.NoError(t, err)
	tag := st.logged(registry.Electric)
	v := st.paired("QX")
	before := st.actions()

	p := v.takesDown(tag)
	p.answer("class", "I").sees("was not looked at").looks("I").asks("use").answer("use", "portable")
	p.asks("electronics").answer("electronics", "no").asks("surge").answer("surge", "no").asks("earth")
	p.answer("earth", "").sees("an answer is needed here").asks("earth").answer("earth", "lots").
		sees("is not a resistance", `value="lots"`).asks("earth")
	p.answer("earth", "0.1").asks("cord-length").answer("cord-length", "18").asks("long-cord").
		answer("long-cord", "no").sees("measure it again").asks("cord-length")
	p.answer("cord-length", "6").asks("long-cord").answer("back", "cord-length").asks("cord-length")
	p.answer("cord-length", "2").asks("cord-area").answer("cord-area", "0.75").
		sees("pass: limit at most 0.152 Ω").asks("plug").answer("plug", "").asks("plug").answer("plug", "G")
	p.asks("polarity").answer("polarity", "n/a").sees("fits one way round only").asks("polarity").
		answer("polarity", "pass").asks("fuse").answer("fuse", "3").asks("switch-on").
		answer("switch-on", "no").sees("Insulation needs the switch on").asks("switch-on").
		answer("switch-on", "yes").asks("insulation").answer("insulation", "20").
		sees("pass: limit at least 1 MΩ", electrical.CautionLive).asks("leakage")
	// The way back loses nothing that was typed.
	p.answer("back", "earth").sees(`value="0.1"`).asks("earth").answer("earth", "0.12").asks("leakage")
	p.answer("leakage", "0.3").sees("pass: limit at most 0.75 mA").asks("volts").answer("volts", "220-240").
		asks("hertz").answer("hertz", "50").asks("watts").answer("watts", "").asks("motor").answer("motor",
		"")
	p.sees("Record this test", "0.12", "pass: limit at most 0.152 Ω")
	assert.Equal(t, before, st.actions(), "nothing is recorded before the last page")
	record := p.sent
	p.answer().sees("PIN of QX", `type="password"`).answer("pin", "000000").sees("is not the PIN of QX")
	require.True(t, st.machine(tag).SafetyAt.IsZero())
	p.answer("pin", "482911").sees("/m/" + string(tag))
	m := st.machine(tag)
	assert.False(t, m.SafetyAt.IsZero())
	assert.Equal(t, "G", m.Plate.Plug)
	done := st.actions()
	v.post(p.at, fill(record, "pin", "482911"))
	assert.Equal(t, done, st.actions(), "sent twice, it is kept once")

	// A retest offers plug, cord and fuse, and nothing that is looked at or measured.
	p = v.takesDown(tag).looks("I").answer("use", "").answer("electronics", "no").answer("surge", "no")
	require.NotContains(t, p.text, `value="0.12"`)
	p.answer("earth", "0.1").sees("As last time", `value="2"`).answer("cord-length", "2").
		answer("cord-area", "0.75").sees("if it is type G still").answer("plug", "")
	other := st.paired("ZB")
	status, _ := other.get(p.at)
	assert.Equal(t, http.StatusConflict, status, "only competent people")
}

func TestWhatFailsOnPagesIsNeverEnergised(t *testing.T) {
	st := newStage(t)
	st.server.Config.Safety.Competent = []string{"QX"}
	v := st.paired("QX")
	started := func() (registry.Tag, *taking) {
		tag := st.logged(registry.Electric)
		return tag, v.takesDown(tag).looks("I").answer("use", "stationary").answer("electronics", "no").
			answer("surge", "yes")
	}
	tag, p := started()
	p.answer("earth", "20").sees("FAIL: limit at most 1.075 Ω").asks("more").answer("more", "no").
		sees("Record this test")
	require.NotContains(t, p.text, electrical.CautionLive)
	require.Contains(t, p.answer().text, "/m/"+string(tag))
	assert.Equal(t, registry.Held, st.machine(tag).Stage)

	// Other dead readings may follow; surge protection asks for the voltage. Answers that were never asked
	// for say nothing.
	tag, p = started()
	p.answer("earth", "20").answer("more", "yes").answer("plug", "G").answer("polarity", "fail").
		answer("fuse", "3").sees("FAIL").asks("insulation-volts").answer("insulation-volts", "250").
		answer("switch-on", "yes").answer("insulation", "0.4").sees("Record this test").
		answer("leakage", "0.1", "record", "yes")
	tests, err := st.server.SafetyTests(t.Context(), "")
	require.NoError(t, err)
	last := tests[len(tests)-1]
	assert.Equal(t, tag, last.Tag)
	assert.Empty(t, last.Form.Leakage)
	for _, said := range []string{"earth 20", "polarity reversed", "insulation 0.4"} {
		assert.Contains(t, last.Hold, said)
	}

	// A fault that is seen, and a class without limits, ask nothing more.
	tag = st.logged(registry.Electric)
	p = v.takesDown(tag)
	point := electrical.VisualPoints()[0].Key
	for _, one := range electrical.VisualPoints() {
		p.sent.Set("look-"+one.Key, "yes")
	}
	p.answer("class", "II", "look-"+point, "no").sees("Say what is wrong")
	for _, one := range electrical.VisualPoints() {
		p.sent.Set("look-"+one.Key, "yes")
	}
	p.answer("class", "II", "look-"+point, "no", "fault-"+point, "cut near the plug").
		sees("Record this test", "cut near the plug").answer()
	assert.Equal(t, registry.Held, st.machine(tag).Stage)
	_, err = st.server.BenchStart(t.Context(), "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
}

// Figures from before say nothing of a machine that others did something to.
func TestFiguresOfAPageGrowStale(t *testing.T) {
	st := newStage(t)
	st.server.Config.Safety.Competent = []string{"QX"}
	tag := st.logged(registry.Electric)
	_, err := st.server.Triage(t.Context(), "ZB", tag, "refurbish", "complete", "")
	require.NoError(t, err)
	p := st.paired("QX").takesDown(tag).looks("II").answer("electronics", "no").answer("surge", "no").
		answer("plug", "C").answer("polarity", "n/a").answer("fuse", "n/a").answer("switch-on", "yes").
		answer("insulation", "88").answer("leakage", "0.05").answer("volts", "220-240").answer("hertz", "50").
		answer("watts", "85").answer("motor", "brush").sees("Record this test")
	record := p.sent
	_, err = st.server.BenchStart(t.Context(), "ZB", tag, bench.WorkNote{})
	require.NoError(t, err)
	for range 2 {
		p.sent = record
		p.answer().sees("Begin it again, and measure again", "Begin the test again")
		require.True(t, st.machine(tag).SafetyAt.IsZero())
	}
	assert.False(t, strings.Contains(p.text, "<button>Record this test"))
}

// A look alone is offered on the first page where it is enough; no class is asked then.
func TestALookAloneOnAPage(t *testing.T) {
	st := newStage(t)
	st.server.Config.Safety.Competent = []string{"QX"}
	st.server.Config.Safety.VisualRevives = true
	st.server.Pins.Cost = hash.Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}
	tag := st.logged(registry.Electric)
	v := st.paired("QX")
	_, _, err := st.server.Safety(t.Context(), "QX", tag, electrical.SafetyForm{Class: "II", Visual: "pass",
		Insulation: "20", SwitchOn: true, Leakage: "0.1", Polarity: "n/a", Plug: "C", Fuse: "n/a"})
	require.NoError(t, err)
	_, err = st.server.Triage(t.Context(), "QX", tag, "refurbish", "runs, needs work", "")
	require.NoError(t, err)
	_, text := v.get("/m/" + string(tag) + "/safety")
	require.NotContains(t, text, bench.AskLookAlone, "who sends it to be refurbished ends its pass for good")
	_, _, err = st.server.Safety(t.Context(), "QX", tag, electrical.SafetyForm{Class: "II", Visual: "pass",
		Insulation: "20", SwitchOn: true, Leakage: "0.1", Polarity: "n/a", Plug: "C", Fuse: "n/a"})
	require.NoError(t, err)
	_, err = st.server.BenchStart(t.Context(), "RS", tag, bench.WorkNote{})
	require.NoError(t, err)
	_, err = st.server.BenchFinish(t.Context(), "RS", tag, bench.WorkNote{Jobs: []string{"oil"}})
	require.NoError(t, err)
	_, err = st.server.Pins.Set(t.Context(), "QX", "QX", "482911")
	require.NoError(t, err)
	answers := []string{"look-alone", electrical.Yes}
	p := v.takesDown(tag).sees(bench.AskLookAlone,
		"RS: finish oil").answer(answers...).sees("was not looked at")
	for _, point := range electrical.VisualPoints() {
		answers = append(answers, "look-"+point.Key, "yes")
	}
	p.answer(answers...).sees("Record this test", "The look alone").answer("pin", "482911")
	require.False(t, st.machine(tag).SafetyAt.IsZero())
	_, text = v.get("/m/" + string(tag))
	require.Contains(t, text, "after bench work")
}
