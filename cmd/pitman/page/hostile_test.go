package page_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/cmd/pitman/page"
	"pitman/registry"
)

// serve lets the stage's server listen by itself, as the command does.
func (st *stage) serve(cert *tls.Certificate) (at string, end func() error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(st.t, err)
	at = l.Addr().String()
	was := st.server
	server := &page.Server{Workshop: was.Workshop, Phones: was.Phones, Photos: was.Photos,
		Examples: was.Examples, Scheme: was.Scheme, Journal: was.Journal, API: was.API,
		Hosts: append(slices.Clone(was.Hosts), at), Secure: was.Secure}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(ctx, l, cert) }()
	st.t.Cleanup(stop)
	return at, func() error { stop(); return <-ended }
}

func TestTLSBySelfMadeCertificate(t *testing.T) {
	st := newStage(t)
	dir := filepath.Join(t.TempDir(), "phones")
	now := time.Now()
	cert, err := page.SelfMade(dir, []string{"127.0.0.1", "workshop.local"}, now)
	require.NoError(t, err)
	again, err := page.SelfMade(dir, []string{"workshop.local"}, now.Add(300*24*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, page.Fingerprint(cert), page.Fingerprint(again),
		"it stays the same for a year, so that a phone is asked once")
	for what, of := range map[string]func() (*tls.Certificate, error){
		"another name": func() (*tls.Certificate, error) {
			return page.SelfMade(dir, []string{"127.0.0.9"}, now)
		},
		"nearly run out": func() (*tls.Certificate, error) {
			return page.SelfMade(dir, []string{"127.0.0.9"}, now.Add(390*24*time.Hour))
		},
	} {
		other, err := of()
		require.NoError(t, err)
		assert.NotEqual(t, page.Fingerprint(cert), page.Fingerprint(other), what)
	}
	info, err := os.Stat(filepath.Join(dir, "certificate.pem"))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode())

	st.server.Secure = true
	at, end := st.serve(cert)
	pool := x509.NewCertPool()
	pool.AddCert(cert.Leaf)
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}
	res, err := phone.Get("https://" + at + "/healthz")
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.NotEmpty(t, res.Header.Get("Strict-Transport-Security"))
	_, err = http.Get("https://" + at + "/healthz")
	assert.Error(t, err, "nobody vouches for it")
	old := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool,
		MaxVersion: tls.VersionTLS11}}}
	_, err = old.Get("https://" + at + "/healthz")
	assert.Error(t, err)
	phone.CloseIdleConnections()
	assert.NoError(t, end())
}

func TestWhatHasBegunComesToItsEnd(t *testing.T) {
	st := newStage(t)
	at, end := st.serve(nil)
	st.server.API["slow"] = func(ctx context.Context, _ string) (any, error) {
		time.Sleep(300 * time.Millisecond)
		return "done", ctx.Err()
	}
	v := st.paired("QX")
	u, _ := url.Parse(st.web.URL)
	cookie := v.Jar.Cookies(u)[0]
	req, _ := http.NewRequest(http.MethodGet, "http://"+at+"/api/slow", nil)
	req.AddCookie(cookie)
	got := make(chan string, 1)
	go func() {
		res, err := http.DefaultClient.Do(req)
		if err != nil {
			got <- err.Error()
			return
		}
		defer res.Body.Close()
		text, _ := io.ReadAll(res.Body)
		got <- string(text)
	}()
	time.Sleep(100 * time.Millisecond)
	require.NoError(t, end())
	assert.Contains(t, <-got, "done")

	// Another server on the same house answers the same phone, and takes a form that was opened before.
	v = st.paired("QX")
	tag := string(st.logged(registry.Hand))
	form := v.form("/m/" + tag + "/hold")
	st.web.Config.Handler, _ = st.server.Handler()
	status, _ := v.post("/m/"+tag+"/hold", fill(form, "why", "waits"))
	assert.Equal(t, http.StatusSeeOther, status)
}

// Two thousand connections that send nothing do not keep a phone from its answer, nor fill the memory.
func TestSlowConnectionsHoldNobodyUp(t *testing.T) {
	if testing.Short() {
		t.Skip("two thousand connections")
	}
	st := newStage(t)
	at, end := st.serve(nil)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var open []net.Conn
	defer func() {
		for _, c := range open {
			c.Close()
		}
	}()
	for i := range 2000 {
		c, err := net.DialTimeout("tcp", at, 2*time.Second)
		if err != nil {
			continue // the system may refuse what the server has closed already
		}
		fmt.Fprintf(c, "GET /healthz HTTP/1.1\r\nX-Slow-%d: ", i)
		open = append(open, c)
	}
	assert.Greater(t, len(open), 1000)
	began := time.Now()
	res, err := (&http.Client{Timeout: 5 * time.Second}).Get("http://" + at + "/healthz")
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.Less(t, time.Since(began), 2*time.Second)
	runtime.ReadMemStats(&after)
	assert.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(64<<20))
	for _, c := range open {
		c.Close()
	}
	assert.NoError(t, end())
}

func TestAnEndlessUploadIsRefused(t *testing.T) {
	st := newStage(t)
	at, _ := st.serve(nil)
	v := st.paired("QX")
	u, _ := url.Parse(st.web.URL)
	cookie := v.Jar.Cookies(u)[0]
	for name, known := range map[string]bool{"a phone": true, "a stranger": false} {
		c, err := net.Dial("tcp", at)
		require.NoError(t, err)
		defer c.Close()
		require.NoError(t, c.SetDeadline(time.Now().Add(30*time.Second)))
		who := ""
		if known {
			who = "Cookie: " + cookie.Name + "=" + cookie.Value + "\r\n"
		}
		fmt.Fprintf(c,
			"POST /place HTTP/1.1\r\nHost: %s\r\n%sContent-Type: multipart/form-data; "+
				"boundary=x\r\nContent-Length: %d\r\n\r\n", at, who, 1<<30)
		fmt.Fprint(c, "--x\r\nContent-Disposition: form-data; name=\"frame\"; filename=\"a.jpg\"\r\n\r\n")
		sent, piece := 0, bytes.Repeat([]byte{0xff}, 1<<16)
		go func() {
			for sent < 1<<30 {
				n, err := c.Write(piece)
				sent += n
				if err != nil {
					return
				}
			}
		}()
		res, err := http.ReadResponse(bufio.NewReader(c), nil)
		require.NoError(t, err, name)
		want := http.StatusUnauthorized
		if known {
			want = http.StatusRequestEntityTooLarge
		}
		assert.Equal(t, want, res.StatusCode, name)
		assert.Less(t, sent, 64<<20, name)
	}
	left, err := filepath.Glob(filepath.Join(os.TempDir(), "multipart-*"))
	require.NoError(t, err)
	assert.Empty(t, left, "nothing of it stays on the disk")
}

func TestNoPathLeadsOut(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	for _, path := range []string{"/assets/../page.go", "/assets/%2e%2e/%2e%2e/go.mod",
		"/assets/..%2f..%2fpitman.db", "/photos/..%2fpitman.db", "/photos/../phones",
		"/m/..%2f..%2fetc%2fpasswd", "/m/%00", "/orders/../../x", "//etc/passwd", "/assets/"} {
		status, text := v.get(path)
		assert.Contains(t, []int{400, 404, 301, 307, 308}, status, path)
		assert.NotContains(t, text, "package page", path)
		assert.NotContains(t, text, `href="page.js"`, path+" lists no folder")
	}
}

func TestManyPhonesAtOnceAreAnswered(t *testing.T) {
	if testing.Short() {
		t.Skip("fifty phones")
	}
	st := newStage(t)
	tag := "/m/" + string(st.logged(registry.Hand))
	var phones []*visitor
	for range 50 {
		code, _, err := st.server.Phones.NewCode("QX")
		require.NoError(t, err)
		st.countsAnew()
		v := st.visitor()
		status, _ := v.post("/pair", url.Values{"code": {code}})
		require.Equal(t, http.StatusSeeOther, status)
		phones = append(phones, v)
	}
	refused := make(chan string, 1000)
	done := make(chan struct{})
	for i, v := range phones {
		own := "/m/" + string(st.logged(registry.Hand))
		body := fill(v.form(own+"/place"), "place", fmt.Sprintf("long shelf %d", i))
		go func() {
			defer func() { done <- struct{}{} }()
			for n := range 6 {
				path := tag
				if n%3 == 2 {
					path = "/work/bench"
				}
				req, _ := http.NewRequest(http.MethodGet, v.web.URL+path, nil)
				if i%5 == 0 && n == 4 {
					req, _ = http.NewRequest(http.MethodPost, v.web.URL+own+"/place",
						strings.NewReader(body.Encode()))
					req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				}
				res, err := v.Do(req)
				if err != nil {
					refused <- err.Error()
					continue
				}
				if res.StatusCode >= 400 {
					refused <- fmt.Sprint(path, " ", res.StatusCode)
				}
				res.Body.Close()
			}
		}()
	}
	for range phones {
		<-done
	}
	close(refused)
	for r := range refused {
		t.Error("refused:", r)
	}
}
