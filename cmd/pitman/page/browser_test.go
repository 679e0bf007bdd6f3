package page_test

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/registrytest/lacking"
	"pitman/registry/stock"
)

// TestMain ends the browser that tests shared.
func TestMain(m *testing.M) {
	status := m.Run()
	endBrowser()
	os.Exit(status)
}

var endBrowser = func() {}

// oneBrowser is started by the first test that wants it; each test then has a profile of its own in it.
var oneBrowser = sync.OnceValues(func() (context.Context, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, err
	}
	profile, err := os.MkdirTemp("", "pitman-browser")
	if err != nil {
		return nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.UserDataDir(profile))
	ctx, stopAll := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(ctx)
	endBrowser = func() {
		stop()
		stopAll()
		os.RemoveAll(profile)
	}
	return ctx, chromedp.Do(ctx)
})

// browser is a real browser with a phone's screen. Where there is none its tests are left out, but for CI,
// which installs one.
func browser(t *testing.T, width int) context.Context {
	if testing.Short() {
		t.Skip("a browser takes long")
	}
	ctx, err := oneBrowser()
	if errors.Is(err, exec.ErrNotFound) {
		lacking.Installed(t, "a browser", "chromium")
	}
	require.NoError(t, err)
	ctx, stop := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	// whose context the page lives in
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(int64(width), 800)))
	ctx, stop = context.WithTimeout(ctx, 90*time.Second)
	t.Cleanup(stop)
	return ctx
}

// pairs gives a browser the phone of a person, by the code behind the # of a scanned symbol.
func (st *stage) pairs(ctx context.Context, by registry.Initials) {
	code, _, err := st.server.Phones.NewCode(by)
	require.NoError(st.t, err)
	require.NoError(st.t, chromedp.Do(ctx,
		chromedp.Navigate(st.web.URL+"/pair#"+code),
		chromedp.Click(chromedp.CSS("form[data-pair] button")),
		chromedp.WaitVisible(chromedp.CSS("nav")),
	))
}

// TestPictures keeps a picture of each page in the folder that PAGE_PICTURES names, for a person to look at.
func TestPictures(t *testing.T) {
	dir := os.Getenv("PAGE_PICTURES")
	if dir == "" {
		t.Skip("set PAGE_PICTURES to a folder")
	}
	st := newStage(t)
	hand, electric := st.logged(registry.Hand), st.logged(registry.Electric)
	w, c := st.server.Workshop, t.Context()
	for _, tag := range []registry.Tag{hand, electric} {
		_, err := w.Triage(c, "QX", tag, "refurbish", "worth it", "")
		require.NoError(t, err)
		_, err = w.BenchStart(c, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
	}
	_, err := w.BenchFinish(c, "QX", hand, bench.WorkNote{Minutes: 30, Note: "runs freely"})
	require.NoError(t, err)
	b := &stock.Base{}
	require.NoError(t, w.AddBase(c, "QX", b))
	w.Config.Safety.Competent = []string{"ZB"}
	for _, width := range []int{320, 390, 1280} {
		ctx := browser(t, width)
		st.pairs(ctx, "ZB")
		for name, path := range map[string]string{"home": "/", "head": "/m/" + string(hand),
			"electric": "/m/" + string(electric), "base": "/m/" + string(b.Tag),
			"test": "/m/" + string(hand) + "/test", "safety": "/m/" + string(electric) + "/safety",
			"work": "/m/" + string(electric) + "/work",
			"hold": "/m/" + string(hand) + "/hold", "measures": "/m/" + string(b.Tag) + "/measures",
			"log": "/log", "place": "/place", "board": "/board", "orders": "/orders", "refused": "/nowhere"} {
			require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(st.web.URL+path)))
			shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
			require.NoError(t, err)
			file := filepath.Join(dir, name+"-"+map[int]string{320: "320", 390: "390", 1280: "wide"}[width]+
				".png")
			require.NoError(t, os.WriteFile(file, shot, 0o600))
		}
	}
}
