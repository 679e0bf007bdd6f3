package page

import (
	"context"
	"errors"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"pitman/registry"
)

// Bounds of one request and of many.
const (
	maxForm    = 256 << 10 // bytes of a form without pictures
	answerFor  = 30 * time.Second
	cookieName = "pitman_phone"

	perPhone       = 20 // requests a second, by one phone; by one address where no phone is paired
	burstOfPhone   = 120
	guessEvery     = rate.Limit(0.2) // codes a second, by one address
	burstOfGuesses = 10
)

// guard stands before every page.
func (s *Server) guard(next http.Handler) http.Handler {
	sameOrigin := http.NewCrossOriginProtection()
	sameOrigin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusForbidden,
			"That came from another site, so nothing was done. Open the page here and send it again.")
	}))
	next = sameOrigin.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.Journal.Printf("internal error at %s: %v\n%s", r.Pattern, p, debug.Stack())
				s.refuse(w, r, http.StatusInternalServerError,
					"Something broke inside; it is written down where the pages are served. Nothing was "+
						"half done.")
			}
		}()
		headers(w, s.Secure)
		if !s.isHost(r.Host) {
			// Another site's name that was made to point here must not be able to ask with this site's
			// cookies.
			s.refuse(w, r, http.StatusMisdirectedRequest,
				"This server does not answer to that name. Use the address that it showed when it started.")
			return
		}
		if !s.rates.allow(s.rateKey(r)) {
			w.Header().Set("Retry-After", "2")
			s.refuse(w, r, http.StatusTooManyRequests, "Too many requests at once from here: wait a moment.")
			return
		}
		ctx, stop := context.WithTimeout(r.Context(), answerFor)
		defer stop()
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// headers say to the browser what these pages never do, so that nothing that slipped into them can.
func headers(w http.ResponseWriter, secure bool) {
	h := w.Header()
	h.Set("Content-Security-Policy",
		"default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' blob:; media-src 'self' "+
			"blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	// with no-referrer, older browsers say of their own forms that they come from nowhere
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=()")
	h.Set("Cache-Control", "no-store")
	if secure {
		// No promise to be secure for ever: a house may go back to this computer only.
		h.Set("Strict-Transport-Security", "max-age=86400")
	}
}

func (s *Server) isHost(host string) bool {
	return slices.ContainsFunc(s.Hosts, func(known string) bool { return strings.EqualFold(known, host) })
}

// rateKey is whose requests are counted together. The part of a cookie before the dot names the phone and is
// no secret; a made-up one is counted by its address, since it is none of the phones here.
func (s *Server) rateKey(r *http.Request) string {
	if c, err := r.Cookie(cookieName); err == nil {
		if id, _, ok := strings.Cut(c.Value, "."); ok && s.rates.knows(id) {
			return id
		}
	}
	return address(r)
}

func address(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// paired lets a request through that carries the secret of a paired phone.
func (s *Server) paired(next handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		c, err := r.Cookie(cookieName)
		if err != nil {
			s.unpaired(w, r)
			return
		}
		p, err := s.Phones.Who(c.Value)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if p == nil {
			s.unpaired(w, r)
			return
		}
		s.rates.know(p.ID)
		r = r.WithContext(context.WithValue(r.Context(), visitKey{}, string(p.By)))
		if r.ContentLength > maxForm && !takesPictures(r) {
			s.refuse(w, r, http.StatusRequestEntityTooLarge,
				"That is far more than a form holds, so nothing was kept.")
			return
		}
		if !takesPictures(r) {
			r.Body = http.MaxBytesReader(w, r.Body, maxForm)
		}
		if err := next(&visit{r, w, p.By, p}); err != nil {
			s.fail(w, r, err)
		}
	}
}

// unpaired is all that a phone sees which nobody paired: not even whether a tag exists, but where the house
// shows everybody stories.
func (s *Server) unpaired(w http.ResponseWriter, r *http.Request) {
	if s.storyForAll(w, r) {
		return
	}
	s.refuse(w, r, http.StatusUnauthorized, strings.TrimSpace(s.Config.Story.Belongs+
		" This phone is not paired with the workshop. Have a code shown where the pages are served, and "+
		"scan it."))
}

// fail answers with a refusal of the registry, or says that something broke within.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	var tooLarge *http.MaxBytesError
	status := http.StatusInternalServerError
	switch {
	case errors.As(err, &tooLarge):
		s.refuse(w, r, http.StatusRequestEntityTooLarge,
			"That is far more than a form holds, so nothing was kept.")
		return
	case r.Context().Err() != nil:
		s.refuse(w, r, http.StatusServiceUnavailable,
			"That took too long and was given up: nothing was half done. Try again.")
		return
	}
	switch registry.CodeOf(err) {
	case registry.Invalid:
		status = http.StatusBadRequest
	case registry.NotFound:
		status = http.StatusNotFound
	case registry.Conflict:
		status = http.StatusConflict
	default:
		s.Journal.Printf("internal error at %s: %v", r.Pattern, err)
		s.refuse(w, r, status,
			"Something broke inside; it is written down where the pages are served. Nothing was half done.")
		return
	}
	var refused *registry.Error
	errors.As(err, &refused)
	s.refuse(w, r, status, sentence(err), s.nextSteps(r.Context(), refused)...)
}

// refuse answers with one sentence: as a page, or as JSON under /api/.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, sentence string,
	next ...nextStep) {
	if strings.HasPrefix(r.URL.Path, "/api/") {
		writeJSON(w, status, map[string]string{"error": sentence})
		return
	}
	s.show(w, r, status, "refused.html", "Not done",
		map[string]any{"Sentence": sentence, "Unpaired": status == http.StatusUnauthorized, "Next": next})
}

// rates counts requests by whom they come from, and forgets whoever rests. It is bounded: at most so many are
// known at once.
type rates struct {
	mu     sync.Mutex
	every  rate.Limit
	burst  int
	by     map[string]*counted
	phones map[string]bool
}

type counted struct {
	*rate.Limiter
	last time.Time
}

const maxCounted = 4096

func newRates(every rate.Limit, burst int) *rates {
	return &rates{every: every, burst: burst, by: map[string]*counted{}, phones: map[string]bool{}}
}

func (l *rates) allow(key string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := time.Now()
	c := l.by[key]
	if c == nil {
		if len(l.by) >= maxCounted {
			l.forget(now)
		}
		c = &counted{Limiter: rate.NewLimiter(l.every, l.burst)}
		l.by[key] = c
	}
	c.last = now
	return c.AllowN(now, 1)
}

// forget drops those whose bucket is full again, and all when that makes no room.
func (l *rates) forget(now time.Time) {
	rested := time.Duration(float64(l.burst) / float64(l.every) * float64(time.Second))
	for key, c := range l.by {
		if now.Sub(c.last) > rested {
			delete(l.by, key)
		}
	}
	if len(l.by) >= maxCounted {
		clear(l.by)
	}
}

// know notes that a phone has shown its secret, so that its requests count for itself and not for its
// address.
func (l *rates) know(id string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.phones) >= maxCounted {
		clear(l.phones)
	}
	l.phones[id] = true
}

func (l *rates) knows(id string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.phones[id]
}
