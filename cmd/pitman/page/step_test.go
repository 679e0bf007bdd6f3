package page_test

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/cmd/pitman/page"
	"pitman/registry"
	benches "pitman/registry/bench"
	"pitman/registry/offers"
	"pitman/registry/place"
	"pitman/registry/stock"
)

var hidden = regexp.MustCompile(`<input type="hidden" name="([a-z0-9-]+)" value="([^"]*)">`)

// form opens a form as a phone does, and gives back what its hidden fields hold.
func (v *visitor) form(path string) url.Values {
	v.t.Helper()
	status, text := v.get(path)
	require.Equal(v.t, http.StatusOK, status, "%s: %s", path, text)
	values := url.Values{}
	for _, found := range hidden.FindAllStringSubmatch(text, -1) {
		values.Set(found[1], found[2])
	}
	require.NotEmpty(v.t, values.Get("key"), path)
	return values
}

// fill adds answers to a form.
func fill(form url.Values, answers ...string) url.Values {
	for i := 0; i < len(answers); i += 2 {
		form.Set(answers[i], answers[i+1])
	}
	return form
}

func (st *stage) machine(tag registry.Tag) *stock.Machine {
	m, err := st.server.Machine(context.Background(), tag)
	require.NoError(st.t, err)
	return m
}

// actions counts what has been done in the house.
func (st *stage) actions() (n int) {
	require.NoError(st.t, st.server.Store.View(context.Background(), func(r stock.Reader) error {
		return r.Changes("", func(*registry.Action, *registry.Change) error { n++; return nil })
	}))
	return n
}

func (st *stage) count() (n int) {
	require.NoError(st.t, st.server.Store.View(context.Background(), func(r stock.Reader) (err error) {
		n, err = r.Count(stock.MachineFilter{})
		return err
	}))
	return n
}

func TestLoggingTwiceWithOneFormLogsOnce(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	form := fill(v.form("/log"), "maker", "Harrow & Finch", "serial", "K20417", "drive", "hand", "donor",
		"Ada of Fernhill")
	status, first := v.post("/log", form)
	require.Equal(t, http.StatusSeeOther, status, first)
	status, second := v.post("/log", form)
	require.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, first, second, "it goes on where the first sending led")
	assert.Equal(t, 1, st.count())

	form = fill(v.form("/log"), "maker", "Harrow & Finch", "serial", "K20418", "drive", "hand")
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() { v.post("/log", form) })
	}
	all.Wait()
	assert.Equal(t, 2, st.count(), "nor when it is sent eight times at once")
}

func TestARefusedFormKeepsWhatWasTyped(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	status, text := v.post("/log",
		fill(v.form("/log"), "maker", "Harrow & Finch", "serial", "", "drive", "hand", "note",
			"drawer key inside"))
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, "drawer key inside")
	assert.Contains(t, text, "Harrow &amp; Finch")
	assert.Contains(t, text, `role="alert"`)
	assert.Zero(t, st.count())

	// A second machine with the same serial is asked about, and logged when the person says so.
	st.logged(registry.Hand)
	form := fill(v.form("/log"), "maker", "Harrow & Finch", "serial", "K20417", "drive", "hand")
	status, text = v.post("/log", form)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, `name="again"`)
	status, _ = v.post("/log", fill(form, "again", "yes"))
	assert.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, 2, st.count())
}

func TestTheSecondOfTwoPhonesIsToldWhatChanged(t *testing.T) {
	st := newStage(t)
	tag := string(st.logged(registry.Hand))
	one, two := st.paired("QX"), st.paired("ZB")
	first, second := one.form("/m/"+tag+"/hold"), two.form("/m/"+tag+"/refurbish")
	status, _ := one.post("/m/"+tag+"/hold", fill(first, "why", "waits for its owner"))
	require.Equal(t, http.StatusSeeOther, status)
	status, text := two.post("/m/"+tag+"/refurbish", fill(second, "why", "worth it"))
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "QX: hold: waits for its owner")
	assert.Contains(t, text, "worth it", "what was typed is there still")
	assert.Equal(t, registry.Held, st.machine(registry.Tag(tag)).Stage, "nothing was written")

	status, text = one.get("/m/" + tag)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, text, tag+" is held")
	_, text = one.get("/m/" + tag)
	assert.NotContains(t, text, `role="status"`, "it is said once")
}

func TestAWholeFunctionTest(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Hand)
	bench, tester := st.paired("QX"), st.paired("ZB")
	at := "/m/" + string(tag)
	for _, step := range [][]string{{"refurbish", "why", "worth it"}, {"bench"},
		{"work", "note", "freed and oiled", "minutes", "40"}, {"finish"}} {
		status, text := bench.post(at+"/"+step[0], fill(bench.form(at+"/"+step[0]), step[1:]...))
		require.Equal(t, http.StatusSeeOther, status, "%s: %s", step[0], text)
	}
	assert.Equal(t, registry.Check, st.machine(tag).Stage)
	st.server.Config.Test.SecondPerson = []registry.Drive{registry.Hand}
	status, text := bench.get(at + "/test")
	assert.Equal(t, http.StatusConflict, status, "another person tests")
	assert.Contains(t, text, "QX worked on")
	st.server.Config.Test.SecondPerson = nil

	points, err := st.server.PointsFor(st.machine(tag))
	require.NoError(t, err)
	form := tester.form(at + "/test")
	status, text = tester.post(at+"/test", fill(form, "point-0", "yes"))
	assert.Equal(t, http.StatusBadRequest, status, "a point without an answer is no pass")
	assert.Contains(t, text, points[1].Point)
	for i := range points {
		form.Set("point-"+strconv.Itoa(i), "yes")
	}
	status, text = tester.post(at+"/test", fill(form, "point-2", "no", "fault-2", "needle bar loose"))
	require.Equal(t, http.StatusSeeOther, status, text)
	assert.Equal(t, registry.Bench, st.machine(tag).Stage)
	_, text = tester.get(at)
	assert.Contains(t, text, "needle bar loose")

	status, _ = bench.post(at+"/finish", fill(bench.form(at+"/finish"), "note", "bar tightened"))
	require.Equal(t, http.StatusSeeOther, status)
	form = tester.form(at + "/test")
	for i := range points {
		form.Set("point-"+strconv.Itoa(i), "yes")
	}
	lacked := slices.IndexFunc(points, func(p benches.TestPoint) bool { return bool(p.MayLack) })
	form.Set("point-"+strconv.Itoa(lacked), "n/a")
	status, text = tester.post(at+"/test", form)
	assert.Equal(t, http.StatusBadRequest, status, "why it does not apply is asked")
	assert.Contains(t, text, "made without one")
	form.Set("fault-"+strconv.Itoa(lacked), "made without one")
	status, text = tester.post(at+"/test", fill(form, "dial", "2.5", "ruler", "50", "stitches", "20",
		"seams", "r 2.5 = 50 / 20"))
	require.Equal(t, http.StatusSeeOther, status, text)
	assert.Equal(t, registry.Ready, st.machine(tag).Stage)
}

// RFC 9110, 9.2.1: GET is safe. Every address is asked, with every step of a head and a base at a stage that
// allows it.
func TestAGetNeverActs(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Electric)
	b := &stock.Base{}
	require.NoError(t, st.server.AddBase(t.Context(), "MB", b))
	v := st.paired("QX")
	st.server.Config.Safety.Competent = []string{"QX"}
	paths := []string{"/", "/work/bench", "/log", "/place", "/orders", "/board", "/board/tester", "/pair",
		"/m/" + string(tag) + "/history"}
	heads, bases := page.Steps()
	for _, name := range heads {
		paths = append(paths, "/m/"+string(tag)+"/"+name)
	}
	for _, name := range bases {
		paths = append(paths, "/m/"+string(b.Tag)+"/"+name)
	}
	before := st.actions()
	for _, path := range paths {
		for _, query := range []string{"", "?why=x&do=move&place=y&key=0123456789abcdef&tags=" +
			string(tag)} {
			status, _ := v.get(path + query)
			assert.NotEqual(t, http.StatusInternalServerError, status, path)
		}
	}
	assert.Equal(t, before, st.actions())
	assert.NotContains(t, st.said.String(), "internal")
}

// Every step has its form here, and no form stands without a step that leads to it.
func TestEveryStepHasAForm(t *testing.T) {
	named := func(steps []offers.Step, more ...string) []string {
		for _, s := range steps {
			more = append(more, s.Name)
		}
		return more
	}
	heads, bases := page.Steps()
	assert.ElementsMatch(t, named(offers.HeadSteps(), "photo", "photo-remove", "plate"), heads)
	assert.ElementsMatch(t, named(offers.BaseSteps(), "photo", "photo-remove"), bases)
}

// upload sends a form with a picture.
func (v *visitor) upload(path string, form url.Values, name string, picture []byte) (int, string) {
	v.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for field, values := range form {
		require.NoError(v.t, w.WriteField(field, values[0]))
	}
	part, err := w.CreateFormFile(name, "../../picture.png")
	require.NoError(v.t, err)
	_, err = part.Write(picture)
	require.NoError(v.t, err)
	require.NoError(v.t, w.Close())
	req, err := http.NewRequest(http.MethodPost, v.web.URL+path, &body)
	require.NoError(v.t, err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	return v.ask(req)
}

func TestPlacesByScans(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	one, two, three := string(st.logged(registry.Hand)), string(st.logged(registry.Hand)),
		string(st.logged(registry.Hand))
	form := fill(v.form("/place"), "place", "bay 2", "tags", one+"\n"+strings.ToLower(two)+
		"\nHTTPS://EXAMPLE.ORG/M/"+one)
	status, text := v.post("/place", fill(form, "do", "move"))
	require.Equal(t, http.StatusSeeOther, status, text)
	_, text = v.get("/place")
	assert.Contains(t, text, "2 moved to bay 2")
	assert.Equal(t, "bay 2", st.machine(registry.Tag(two)).Place)
	before := st.actions()
	status, _ = v.post("/place", form)
	assert.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, before, st.actions(), "sent twice, it acts once")

	// A label that the camera took, read by the server.
	symbol, err := qrcode.Encode("HTTPS://EXAMPLE.ORG/M/"+three, qrcode.Medium, 600)
	require.NoError(t, err)
	status, text = v.upload("/place", fill(v.form("/place"), "place", "bay 2", "tags", one, "do", "scan"),
		"frame", symbol)
	require.Equal(t, http.StatusOK, status, text)
	assert.Contains(t, text, one+"\n"+three)
	status, text = v.upload("/scan", url.Values{}, "frame", symbol)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, text, three)
	blank, err := qrcode.Encode("no tag", qrcode.Medium, 300)
	require.NoError(t, err)
	_, text = v.upload("/scan", url.Values{}, "frame", blank)
	assert.NotContains(t, text, "tag\"")

	// The label of a shelf says where they stand, by its code or by its name as labels had it once; a place
	// that nobody knows is not made by a scan.
	for _, text := range []string{place.Code("bay 2"), "bay 2"} {
		symbol, err = qrcode.Encode(text, qrcode.Medium, 300)
		require.NoError(t, err)
		status, text = v.upload("/place", fill(v.form("/place"), "tags", one, "do", "scan"), "frame", symbol)
		require.Equal(t, http.StatusOK, status, text)
		assert.Contains(t, text, `name="place" value="bay 2"`)
		_, text = v.upload("/scan", url.Values{}, "frame", symbol)
		assert.Contains(t, text, `"place": "bay 2"`)
	}
	for _, strange := range []string{"bay 92", place.Code("bay 92")} {
		symbol, err = qrcode.Encode(strange, qrcode.Medium, 300)
		require.NoError(t, err)
		status, text = v.upload("/place", fill(v.form("/place"), "tags", one, "do", "scan"), "frame", symbol)
		assert.Equal(t, http.StatusBadRequest, status)
		assert.Contains(t, text, "refused")
	}
	form = fill(v.form("/place"), "place", "bay 2", "tags", one+" "+three)
	status, text = v.post("/place", fill(form, "do", "count"))
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, text, "Missing: the records say it is here: 1")
	assert.Contains(t, text, "Here, but the records say elsewhere: 1")
	status, _ = v.post("/place", fill(form, "do", "correct"))
	require.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, "bay 2", st.machine(registry.Tag(three)).Place)
	assert.Empty(t, st.machine(registry.Tag(two)).Place)
	// A place that is almost a known one is asked about, and nothing moves before the answer.
	status, text = v.post("/place",
		fill(v.form("/place"), "place", "under the stairs", "tags", one, "do", "move"))
	require.Equal(t, http.StatusSeeOther, status, text)
	form = fill(v.form("/place"), "place", "undr the stairs", "tags", two, "do", "move")
	status, text = v.post("/place", form)
	require.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "Which place is it?")
	assert.Empty(t, st.machine(registry.Tag(two)).Place)
	status, _ = v.post("/place", fill(form, "meant-place", "under the stairs"))
	require.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, "under the stairs", st.machine(registry.Tag(two)).Place)
	status, text = v.post("/place", fill(form, "tags", "nonsense", "do", "move"))
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "nonsense")
}

func TestAnUndoneLogLeadsHome(t *testing.T) {
	st := newStage(t)
	v := st.paired("MB")
	tag := string(st.logged(registry.Hand))
	status, to := v.post("/m/"+tag+"/undo", v.form("/m/"+tag+"/undo"))
	require.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, "/", to)
}

func TestABaseIsMeasuredBesideTheDrawing(t *testing.T) {
	st := newStage(t)
	b := &stock.Base{}
	require.NoError(t, st.server.AddBase(t.Context(), "MB", b))
	v := st.paired("QX")
	at := "/m/" + string(b.Tag) + "/measures"
	_, text := v.get(at)
	assert.Contains(t, text, `role="img"`)
	status, text := v.post(at, fill(v.form(at), "opening", "374x181", "pins", "241", "flywheel", "305"))
	require.Equal(t, http.StatusSeeOther, status, text)
	kept, err := st.server.Base(t.Context(), b.Tag)
	require.NoError(t, err)
	assert.Equal(t, "241 mm", kept.Pins.String())
	status, text = v.post(at, fill(v.form(at), "pins", "wide"))
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, "wide")
}

// A maker that is probably another is asked once, on the form that logs a machine and on the one that
// corrects it.
func TestAMakerThatIsProbablyAnotherIsAsked(t *testing.T) {
	st := newStage(t)
	st.logged(registry.Hand)
	v := st.paired("QX")
	form := fill(v.form("/log"), "maker", "Harow & Finch", "serial", "150", "drive", "hand")
	before := st.actions()
	status, text := v.post("/log", form)
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, "is it Harrow &amp; Finch?")
	assert.Contains(t, text, "just as typed: Harow &amp; Finch")
	assert.Equal(t, before, st.actions(), "nothing was written")
	// the second, and it is known from then on
	for i, answer := range []string{"Harrow & Finch", "Harow & Finch"} {
		status, to := v.post("/log", fill(v.form("/log"), "maker", "Harow & Finch", "serial",
			"15"+strconv.Itoa(i), "drive", "hand", "meant", answer))
		require.Equal(t, http.StatusSeeOther, status, to)
		assert.Equal(t, answer, st.machine(registry.Tag(strings.TrimPrefix(to, "/m/"))).Maker)
	}

	tag := st.logged(registry.Treadle)
	path := "/m/" + string(tag) + "/correct"
	answers := []string{"maker", "Harrow & Fynch", "serial", "K20417", "drive", "treadle"}
	status, text = v.post(path, fill(v.form(path), answers...))
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, "is it Harrow &amp; Finch?")
	status, text = v.post(path, fill(v.form(path), append(answers, "meant", "Somebody Else")...))
	assert.Equal(t, http.StatusBadRequest, status, "only what was offered is taken")
	assert.Contains(t, text, "is it Harrow &amp; Finch?")
	v.post(path, fill(v.form(path), append(answers, "meant", "Harrow & Fynch")...))
	assert.Equal(t, "Harrow & Fynch", st.machine(tag).Maker)
}

func TestAnUndoSaysWhatItTakesBack(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	tag := st.logged(registry.Hand)
	_, err := st.server.Move(t.Context(), "ZB", []registry.Tag{tag}, "bay 2")
	require.NoError(t, err)
	_, text := v.get("/m/" + string(tag) + "/undo")
	assert.Contains(t, text, "It is this: move, by ZB, 2031-05-04")
}

// The first sending may break off between the machine and its picture; the second brings what is missing, and
// what was corrected meanwhile is not said to be kept.
func TestALogSentTwiceBringsItsPicture(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	form := fill(v.form("/log"), "maker", "Ostermann", "serial", "B7", "drive", "hand", "shows", "plate")
	status, text := v.post("/log", form)
	require.Equal(t, http.StatusSeeOther, status, text)
	photos := func() int {
		list, err := st.server.Workshop.Photos(t.Context(), "LR1I")
		require.NoError(t, err)
		return len(list)
	}
	plate, err := qrcode.Encode("plate", qrcode.Medium, 200)
	require.NoError(t, err)
	for range 2 {
		status, text = v.upload("/log", form, "photo", plate)
		require.Equal(t, http.StatusSeeOther, status, text)
		assert.Equal(t, 1, photos())
	}
	status, text = v.upload("/log", fill(form, "serial", "B8"), "photo", plate)
	require.Equal(t, http.StatusSeeOther, status, text)
	_, text = v.get("/m/LR1I")
	assert.Contains(t, text, "What was typed since is not kept")
	assert.Equal(t, 1, photos())
	assert.Equal(t, 1, st.count())
}
