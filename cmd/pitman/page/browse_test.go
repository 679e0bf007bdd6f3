package page_test

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/stock"
)

func (st *stage) do(ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	st.t.Helper()
	require.NoError(st.t, chromedp.Do(ctx, steps...))
}

func css(s string) chromedp.CSS { return chromedp.CSS(s) }

func (st *stage) open(ctx context.Context, path string) {
	st.t.Helper()
	st.do(ctx, chromedp.Navigate(st.web.URL+path))
}

// seen is what a person reads on the page.
func (st *stage) seen(ctx context.Context) string {
	st.t.Helper()
	text, err := chromedp.Run(ctx, chromedp.Text(css("main")))
	require.NoError(st.t, err)
	return text
}

// tap taps a button and waits for the words that come of it.
func (st *stage) tap(ctx context.Context, button, words string) {
	st.t.Helper()
	st.do(ctx, chromedp.Click(css(button)))
	st.waits(ctx, words)
}

func (st *stage) waits(ctx context.Context, words string) {
	st.t.Helper()
	for range 80 {
		text, err := chromedp.Run(ctx,
			chromedp.Evaluate[string](`document.querySelector('main') ? document.querySelector('main').innerText : ''`))
		if err == nil && strings.Contains(text, words) {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	require.Fail(st.t, "never shown: "+words, st.seen(ctx))
}

// A day with a real browser: paired by a scanned code, a machine logged with a picture, its work, its whole
// function test, a place by a picture of its label, the wall.
func TestADayInABrowser(t *testing.T) {
	t.Parallel()
	st := newStage(t)
	ctx := browser(t, 390)
	st.pairs(ctx, "QX")
	symbol, err := qrcode.Encode("plate", qrcode.Medium, 400)
	require.NoError(t, err)
	plate := filepath.Join(t.TempDir(), "plate.png")
	require.NoError(t, os.WriteFile(plate, symbol, 0o600))

	st.open(ctx, "/log")
	st.do(ctx, chromedp.SendKeys(css("#maker"), "Harrow & Finch"),
		chromedp.SendKeys(css("#serial"), "K20417"),
		chromedp.Click(css(`input[name=drive][value=hand]`)),
		chromedp.SetUploadFiles(css("#photo"), []string{plate}))
	st.tap(ctx, "form[data-keeps] button", "Logged as LR1I. Tie a label with LR1I on it now.")
	require.Equal(t, 1, st.count())
	photos, err := st.server.Workshop.Photos(t.Context(), "LR1I")
	require.NoError(t, err)
	require.Len(t, photos, 1)
	shown, err := chromedp.Run(ctx,
		chromedp.Evaluate[float64](`(function () { var i = document.querySelector('.pictures img'); i.loading = 'eager'; return i.decode().then(function () { return i.naturalWidth; }); })()`,
			chromedp.EvalAwaitPromise))
	require.NoError(t, err)
	assert.Equal(t, 400.0, shown, "the picture is seen")

	for _, step := range []struct{ path, field, typed, said string }{
		{"refurbish", "#why", "worth it", "LR1I is now queued"}, {"bench", "", "", "LR1I is now bench"},
		{"finish", "#note", "freed and oiled", "LR1I is now check"},
	} {
		st.open(ctx, "/m/LR1I/"+step.path)
		if step.field != "" {
			st.do(ctx, chromedp.SendKeys(css(step.field), step.typed))
		}
		st.tap(ctx, "form[data-keeps] button", step.said)
	}
	points, err := st.server.PointsFor(st.machine("LR1I"))
	require.NoError(t, err)
	st.server.Config.Test.SecondPerson = nil
	st.open(ctx, "/m/LR1I/test")
	hidden, err := chromedp.Run(ctx,
		chromedp.Evaluate[float64](`document.querySelector('.seen').offsetHeight`))
	require.NoError(t, err)
	assert.Zero(t, hidden, "what was seen is asked of a fault alone")
	for i := range points {
		st.do(ctx, chromedp.Click(css("#point-"+strconv.Itoa(i)+"-yes")))
	}
	st.do(ctx, chromedp.Click(css("#point-3-no")), chromedp.SendKeys(css("#fault-3"), "thread frays"))
	st.tap(ctx, "form[data-keeps] button", "Back to the bench with its faults")
	st.waits(ctx, "thread frays")

	// The label in a picture, by the form that needs no script, and the wall.
	label, err := qrcode.Encode("LR1I", qrcode.Medium, 300)
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "label.png")
	require.NoError(t, os.WriteFile(file, label, 0o600))
	st.open(ctx, "/place")
	st.do(ctx, chromedp.SendKeys(css("#place"), "bay 2"),
		chromedp.SetUploadFiles(css("#frame"), []string{file}))
	st.tap(ctx, "button[value=scan]", "LR1I was read")
	st.tap(ctx, "button[value=move]", "1 moved to bay 2")
	// A shelf is counted by the same scans.
	st.open(ctx, "/place")
	st.do(ctx, chromedp.SendKeys(css("#place"), "bay 2"),
		chromedp.SetUploadFiles(css("#frame"), []string{file}))
	st.tap(ctx, "button[value=scan]", "LR1I was read")
	st.tap(ctx, "button[value=count]", "There, as the records say: 1")
	st.open(ctx, "/board")
	st.waits(ctx, "thread frays")
}

// An electrical session by taps: what fails dead is never asked live.
func TestAFailureBarsTheLivePartInABrowser(t *testing.T) {
	t.Parallel()
	st := newStage(t)
	st.server.Config.Safety.Competent = []string{"QX"}
	tag := st.logged(registry.Electric)
	ctx := browser(t, 390)
	st.pairs(ctx, "QX")
	path := "/m/" + string(tag) + "/safety"
	st.open(ctx, path)
	for _, p := range electrical.VisualPoints() {
		st.do(ctx, chromedp.Click(css(`input[name="look-`+p.Key+`"][value=yes]`)))
	}
	st.do(ctx, chromedp.Click(css(`input[name=class][value=I]`)))
	for _, one := range []struct{ field, answer, next string }{
		{"use", "portable", "electronics"}, {"electronics", "no", "surge"}, {"surge", "no", "earth"},
		{"earth", "20", "more"}, {"more", "no", ""},
	} {
		st.tap(ctx, "form[data-keeps] p > button:not([name])", "")
		st.waitsFor(ctx, one.field)
		picked, err := chromedp.Run(ctx, chromedp.Evaluate[bool](fmt.Sprintf(
			`(function () { var e = document.querySelector('input[name="%s"][value="%s"]'); if (e) { e.click(); } return !!e; })()`,
			one.field, one.answer)))
		require.NoError(t, err)
		if !picked {
			st.do(ctx, chromedp.SendKeys(css("#"+one.field), one.answer))
		}
	}
	st.tap(ctx, "form[data-keeps] p > button:not([name])", "Record this test")
	assert.NotContains(t, st.seen(ctx), electrical.CautionLive)
	assert.NotContains(t, st.seen(ctx), "leakage")
	assert.True(t, st.machine(tag).SafetyAt.IsZero())
	st.tap(ctx, "form[data-keeps] p > button:not([name])", "earth 20")
	assert.Equal(t, registry.Held, st.machine(tag).Stage)
}

// waitsFor waits until a field is asked.
func (st *stage) waitsFor(ctx context.Context, field string) {
	st.t.Helper()
	for range 80 {
		asked, err := chromedp.Run(ctx,
			chromedp.Evaluate[bool](`!!document.querySelector('[name="`+field+`"]')`))
		if err == nil && asked {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	require.Fail(st.t, "never asked: "+field, st.seen(ctx))
}

// away is a network that can be gone, and count what came through.
type away struct {
	http.Handler
	gone   atomic.Bool
	refuse atomic.Int32 // the status that it answers by itself
}

func (a *away) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if a.gone.Load() && r.Method == http.MethodPost {
		panic(http.ErrAbortHandler)
	}
	if status := a.refuse.Load(); status > 0 && r.Method == http.MethodPost {
		w.WriteHeader(int(status))
		fmt.Fprint(w, "<main><h1>Not done</h1><p role=alert>far too much.</p></main>")
		return
	}
	a.Handler.ServeHTTP(w, r)
}

func TestAFormOutlastsTheNetwork(t *testing.T) {
	t.Parallel()
	st := newStage(t)
	network := &away{Handler: st.web.Config.Handler}
	st.web.Config.Handler = network
	ctx := browser(t, 320)
	st.pairs(ctx, "QX")
	st.open(ctx, "/log")
	st.do(ctx, chromedp.SendKeys(css("#maker"), "Harrow & Finch"),
		chromedp.SendKeys(css("#serial"), "K20417"), chromedp.Click(css(`input[name=drive][value=hand]`)))
	network.gone.Store(true)
	st.tap(ctx, "form[data-keeps] button", "the network is away")
	value, err := chromedp.Run(ctx, chromedp.Value(css("#maker")))
	require.NoError(t, err)
	assert.Equal(t, "Harrow & Finch", value, "what was typed stays")
	assert.Zero(t, st.count())
	network.gone.Store(false)
	st.waits(ctx, "Logged as LR1I")
	assert.Equal(t, 1, st.count())

	// Too much at once is waited for; an answer that brings no form back takes none away.
	network.refuse.Store(http.StatusTooManyRequests)
	st.open(ctx, "/m/LR1I/hold")
	st.do(ctx, chromedp.SendKeys(css("#why"), "waits for its owner"))
	st.tap(ctx, "form[data-keeps] button", "Not taken yet: too much comes at once.")
	network.refuse.Store(0)
	st.waits(ctx, "LR1I is held")
	network.refuse.Store(http.StatusRequestEntityTooLarge)
	st.open(ctx, "/log")
	st.do(ctx, chromedp.SendKeys(css("#maker"), "Ostermann"), chromedp.SendKeys(css("#serial"), "7"),
		chromedp.Click(css(`input[name=drive][value=hand]`)))
	st.tap(ctx, "form[data-keeps] button", "Not done: far too much. What you typed is kept.")
	network.refuse.Store(0)
	st.tap(ctx, "form[data-keeps] button", "Logged as LR2G")
}

func TestTwoPhonesAndADeskOnOneMachine(t *testing.T) {
	t.Parallel()
	st := newStage(t)
	tag := string(st.logged(registry.Hand))
	one, two := browser(t, 390), browser(t, 320)
	st.pairs(one, "QX")
	st.pairs(two, "ZB")
	st.open(one, "/m/"+tag+"/hold")
	st.open(two, "/m/"+tag+"/refurbish")
	_, err := st.server.Move(t.Context(), "MB", []registry.Tag{registry.Tag(tag)}, "bay 2") // the desk
	require.NoError(t, err)
	st.do(one, chromedp.SendKeys(css("#why"), "waits for its owner"))
	st.tap(one, "form[data-keeps] button", "MB: move")
	st.tap(one, "form[data-keeps] button", tag+" is held")
	st.do(two, chromedp.SendKeys(css("#why"), "worth it"))
	st.tap(two, "form[data-keeps] button", "QX: hold: waits for its owner")
	assert.Equal(t, registry.Held, st.machine(registry.Tag(tag)).Stage)
}

// WCAG 2.2 AA: 1.4.10 (no sideways scrolling at 320 px), 1.4.4 (text at 200 %), 2.5.8 (targets; the house
// asks for 44 px), 1.4.3 and 1.4.11 (contrast), 1.3.1 and 4.1.2 (every field, button and picture has a name),
// 2.4.2 (a title), 3.1.1 (a language).
func TestEveryPageIsForEverybody(t *testing.T) {
	t.Parallel()
	st := newStage(t)
	hand, electric := string(st.logged(registry.Hand)), string(st.logged(registry.Electric))
	st.server.Config.Safety.Competent = []string{"QX"}
	b := &stock.Base{}
	require.NoError(t, st.server.AddBase(t.Context(), "MB", b))
	ctx := browser(t, 320)
	st.pairs(ctx, "QX")
	judged := 0
	for _, path := range []string{"/", "/log", "/place", "/orders", "/board", "/plates", "/pair", "/m/" +
		hand, "/m/" +
		electric, "/m/" + string(b.Tag), "/m/" + hand + "/refurbish",
		"/m/" + electric + "/safety", "/m/" + hand + "/correct", "/m/" + string(b.Tag) + "/measures", "/m/" +
			hand + "/photo", "/m/" + hand + "/history", "/nowhere", "/story/" + hand} {
		st.open(ctx, path)
		for _, size := range []string{"100%", "200%"} {
			wide, err := chromedp.Run(ctx,
				chromedp.Evaluate[float64](fmt.Sprintf(`document.documentElement.style.fontSize = '%s', document.documentElement.scrollWidth`, size)))
			require.NoError(t, err)
			assert.LessOrEqual(t, wide, 320.0, "%s scrolls sideways at %s", path, size)
		}
		faults, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`(function () {
			document.documentElement.style.fontSize = '';
			var faults = [];
			document.querySelectorAll('a, button, input, select, textarea, summary').forEach(function (e) {
				if (e.type === 'hidden' || e.className === 'skip' || !e.offsetParent || e.tagName !== "SUMMARY" && e.closest("details:not([open])")) { return; }
				var name = (e.innerText || '').trim() || e.getAttribute('aria-label') || (e.labels && e.labels.length ? e.labels[0].textContent.trim() : '') ||
					(e.querySelector && e.querySelector('img') ? e.querySelector('img').alt : '');
				if (!name) { faults.push('no name: ' + e.outerHTML.slice(0, 120)); }
				var box = e.getBoundingClientRect();
				if (e.labels && e.labels.length && (e.type === 'radio' || e.type === 'checkbox')) { box = e.labels[0].getBoundingClientRect(); }
				if (e.closest('h1')) { return; }
				if (box.height < 43.9 || box.width < 43.9) { faults.push('small: ' + Math.round(box.width) + ' x ' + Math.round(box.height) + ' ' + e.outerHTML.slice(0, 120)); }
			});
			document.querySelectorAll('img').forEach(function (e) { if (!e.alt) { faults.push('no words for ' + e.src); } });
			if (document.querySelectorAll('h1').length !== 1) { faults.push('not one heading'); }
			if (!document.title || !document.documentElement.lang) { faults.push('no title or language'); }
			return faults;
		})()`))
		require.NoError(t, err)
		assert.Empty(t, faults, path)
		judged += contrasts(ctx, t, path)
	}
	assert.Greater(t, judged, 100, "colours were looked at")
}
