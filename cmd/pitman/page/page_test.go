package page_test

import (
	"crypto/rand"

	"context"
	"io"
	"log"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/cmd/pitman/page"
	"pitman/labels"
	"pitman/registry"
	"pitman/registry/examples"
	"pitman/registry/house"
	"pitman/registry/phone"
	"pitman/registry/photo"
	"pitman/registry/stock"
)

// stage is a house that is served, for a test.
type stage struct {
	t      *testing.T
	server *page.Server
	web    *httptest.Server
	said   *strings.Builder // what was written to the log
	now    *clock
}

// clock goes on whenever it is looked at, by whichever connection.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) add(d time.Duration) time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
	return c.at
}

func newStage(t *testing.T) *stage {
	dir := t.TempDir() + "/house"
	_, err := house.Init(dir, stock.HouseConfig{Name: "Lantern Row", Letters: "LR", Zone: "UTC"})
	require.NoError(t, err)
	h, err := house.Open(dir)
	require.NoError(t, err)
	now := &clock{at: time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)}
	h.Now = func() time.Time { return now.add(time.Second) }
	db, err := h.Registry()
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	said := &strings.Builder{}
	s := &page.Server{Workshop: h.Workshop(db), Phones: phone.In(dir, h.Now), Photos: photo.In(dir),
		Examples: examples.In(dir, &h.Lists.Bench, &h.Lists.Stock),
		Scheme:   labels.Default(), Journal: log.New(said, "", 0),
		API: map[string]func(context.Context, string) (any, error){}}
	handler, err := s.Handler()
	require.NoError(t, err)
	web := httptest.NewServer(handler)
	t.Cleanup(web.Close)
	s.Hosts = []string{strings.TrimPrefix(web.URL, "http://")}
	return &stage{t, s, web, said, now}
}

// visitor is a phone; it follows no redirects, and shows what it was answered.
type visitor struct {
	*stage
	*http.Client
}

func (st *stage) visitor() *visitor {
	jar, err := cookiejar.New(nil)
	require.NoError(st.t, err)
	return &visitor{st, &http.Client{Jar: jar, Timeout: 20 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// paired is a phone of a person.
func (st *stage) paired(by registry.Initials) *visitor {
	v := st.visitor()
	code, _, err := st.server.Phones.NewCode(by)
	require.NoError(st.t, err)
	status, _ := v.post("/pair", url.Values{"code": {code}})
	require.Equal(st.t, http.StatusSeeOther, status)
	return v
}

// countsAnew lets as many pair as after a start: all of them stand behind one address here.
func (st *stage) countsAnew() {
	_, err := st.server.Handler()
	require.NoError(st.t, err)
}

// newKey is one that no other form has.
func newKey() string { return strings.ToLower(rand.Text()) }

func (v *visitor) ask(req *http.Request) (int, string) {
	v.t.Helper()
	res, err := v.Do(req)
	require.NoError(v.t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(v.t, err)
	return res.StatusCode, res.Header.Get("Location") + string(text)
}

func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	req, err := http.NewRequest(http.MethodGet, v.web.URL+path, nil)
	require.NoError(v.t, err)
	return v.ask(req)
}

func (v *visitor) post(path string, form url.Values) (int, string) {
	v.t.Helper()
	req, err := http.NewRequest(http.MethodPost, v.web.URL+path, strings.NewReader(form.Encode()))
	require.NoError(v.t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return v.ask(req)
}

// logged is a machine that came in.
func (st *stage) logged(drive registry.Drive) registry.Tag {
	m := &stock.Machine{Maker: "Harrow & Finch", Serial: "K20417", Drive: drive, Donor: "Ada of Fernhill"}
	require.NoError(st.t, st.server.Log(context.Background(), "MB", m, true))
	return m.Tag
}

func TestAnUnpairedPhoneSeesNothing(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Hand)
	v := st.visitor()
	_, there := v.get("/m/" + string(tag))
	for _, path := range []string{"/", "/m/LR9Z", "/m/" + string(tag), "/api/machines/" + string(tag),
		"/no/such", "/board", "/log"} {
		status, text := v.get(path)
		assert.Equal(t, http.StatusUnauthorized, status, path)
		assert.NotContains(t, text, "Harrow")
		if !strings.HasPrefix(path, "/api/") {
			assert.Equal(t, there, text, "whether a tag exists is not told")
		}
	}
	for _, path := range []string{"/find", "/m/" + string(tag) + "/hold"} {
		status, _ := v.post(path, url.Values{"text": {"Harrow"}})
		assert.Equal(t, http.StatusUnauthorized, status)
	}
	for _, path := range []string{"/healthz", "/assets/style.css", "/scheme.css", "/pair"} {
		status, _ := v.get(path)
		assert.Equal(t, http.StatusOK, status, path)
	}
}

func TestAPhoneIsPairedAndSeesTheMachine(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Electric)
	v := st.paired("QX")
	status, text := v.get("/m/" + string(tag))
	assert.Equal(t, http.StatusOK, status)
	for _, word := range []string{string(tag), "Harrow &amp; Finch", registry.DoNotPlugIn, "K20417",
		"Ada of Fernhill", "You are <b>QX</b>", "LOGGED"} {
		assert.Contains(t, text, word)
	}
	assert.Less(t, strings.Index(text, registry.DoNotPlugIn), strings.Index(text, "K20417"),
		"warnings come first")
	status, text = v.get("/M/" + string(tag))
	assert.Equal(t, http.StatusSeeOther, status, "labels print capitals")
	assert.Contains(t, text, "/m/"+string(tag))
	status, text = v.post("/find", url.Values{"text": {"finch"}})
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, text, `href="/m/`+string(tag))
	status, _ = v.get("/m/LR9Z")
	assert.Equal(t, http.StatusBadRequest, status)
	status, _ = v.get("/m/" + string(registry.NewTag("LR", 99)))
	assert.Equal(t, http.StatusNotFound, status)
}

func TestACookieIsOutOfReachOfScriptsAndOtherSites(t *testing.T) {
	st := newStage(t)
	for _, secure := range []bool{false, true} {
		st.server.Secure = secure
		code, _, err := st.server.Phones.NewCode("")
		require.NoError(t, err)
		res, err := st.visitor().PostForm(st.web.URL+"/pair", url.Values{"code": {code}, "by": {"ZB"}})
		require.NoError(t, err)
		res.Body.Close()
		require.Len(t, res.Cookies(), 1)
		c := res.Cookies()[0]
		assert.True(t, c.HttpOnly)
		assert.Equal(t, http.SameSiteLaxMode, c.SameSite)
		assert.Equal(t, secure, c.Secure)
		assert.NotContains(t, st.said.String(), c.Value)
		assert.NotContains(t, st.said.String(), code)
	}
}

func TestOtherNamesAndOtherSitesAreRefused(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	req, _ := http.NewRequest(http.MethodGet, st.web.URL+"/", nil)
	req.Host = "workshop.example"
	status, text := v.ask(req)
	assert.Equal(t, http.StatusMisdirectedRequest, status)
	assert.NotContains(t, text, "You are")
	for name, value := range map[string]string{"Origin": "https://elsewhere.example",
		"Sec-Fetch-Site": "cross-site"} {
		req, _ := http.NewRequest(http.MethodPost, st.web.URL+"/unpair", nil)
		req.Header.Set(name, value)
		status, _ = v.ask(req)
		assert.Equal(t, http.StatusForbidden, status, name)
	}
	status, _ = v.get("/")
	assert.Equal(t, http.StatusOK, status, "it is paired still")
}

func TestGuessedCodesAreSlowedDown(t *testing.T) {
	st := newStage(t)
	v := st.visitor()
	var slowed bool
	for range 10 + 2 {
		status, _ := v.post("/pair", url.Values{"code": {"AAAA-AAAA-AAAA"}, "by": {"QX"}})
		slowed = status == http.StatusTooManyRequests
		if !slowed {
			assert.Equal(t, http.StatusForbidden, status)
		}
	}
	assert.True(t, slowed)
}

func TestARemovedOrExpiredPhoneSeesNothing(t *testing.T) {
	st := newStage(t)
	v, old := st.paired("QX"), st.paired("ZB")
	phones, err := st.server.Phones.List()
	require.NoError(t, err)
	require.Len(t, phones, 2)
	for _, p := range phones {
		if p.By == "QX" {
			require.NoError(t, st.server.Phones.Remove(p.ID))
		}
	}
	status, _ := v.get("/")
	assert.Equal(t, http.StatusUnauthorized, status)
	status, _ = old.get("/")
	assert.Equal(t, http.StatusOK, status)
	st.now.add(phone.PhoneLife)
	status, _ = old.get("/")
	assert.Equal(t, http.StatusUnauthorized, status)
}

// A clock that stands more than a day before what was done here last is told on each page.
func TestAClockThatIsBehindIsToldOnEachPage(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Hand)
	v := st.paired("MB")
	for _, back := range []time.Duration{23 * time.Hour, 25 * time.Hour} {
		before := st.now.add(-back)
		for _, path := range []string{"/", "/log", "/board", "/m/" + string(tag)} {
			status, text := v.get(path)
			assert.Equal(t, http.StatusOK, status, path)
			assert.Equal(t, back > 24*time.Hour, strings.Contains(text, "set the clock right"), "%s, %s",
				path, before)
		}
		st.now.add(back)
	}
}

func TestWhatIsTypedIsShownAsText(t *testing.T) {
	st := newStage(t)
	script := `<script>alert(1)</script>"'><img src=x onerror=alert(1)>`
	m := &stock.Machine{Maker: "Harrow", Model: script, Serial: "K20417", Drive: registry.Hand, Donor: script,
		Note: script}
	require.NoError(t, st.server.Log(t.Context(), "MB", m, true))
	v := st.paired("QX")
	for _, path := range []string{"/m/" + string(m.Tag), "/", "/work/bench"} {
		_, text := v.get(path)
		assert.NotContains(t, text, "<script>alert")
		assert.NotContains(t, text, "<img src=x")
	}
	_, text := v.post("/find", url.Values{"text": {script}})
	assert.NotContains(t, text, "<script>alert")
	assert.Contains(t, text, "&lt;script&gt;")
}

func TestAHugeFormIsRefused(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	status, _ := v.post("/find", url.Values{"text": {strings.Repeat("a", 256<<10+1)}})
	assert.Equal(t, http.StatusRequestEntityTooLarge, status)
}
