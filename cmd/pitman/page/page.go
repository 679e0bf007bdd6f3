// Package page is what a phone sees: pages beside the machine, over the workshop's own network.
//
// It is a front end like the desk and holds no rule of the workshop: it asks registry.Workshop, and shows the
// answer or the refusal as it stands. Every page works without a script, with a thumb, on a small screen; the
// script only makes some of it quicker. A GET never changes anything. A form carries a key of its own, so
// that sending it twice acts once, and says what the person had seen of the machine, so that whoever acts on
// old knowledge is told what happened since.
//
// A request passes the guard (guard.go) first: host, size, rate and the cookie of a paired phone. Server
// listens (listen.go) and knows no terminal; the command ties it to one.
package page

import (
	"context"
	"encoding/json"
	"io/fs"
	"log"
	"net/http"
	"sync"
	"time"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/examples"
	"pitman/registry/house"
	"pitman/registry/phone"
	"pitman/registry/photo"
)

// Server answers phones for one house.
type Server struct {
	*house.Workshop
	Phones   phone.Store
	Photos   photo.Store
	Examples examples.Examples // the house's own pictures beside what is asked
	Scheme   *labels.Scheme
	Journal  *log.Logger // told of pairings and of what went wrong within; never of anything that was typed

	// API gives, by the first part of the path under /api/, what the command of that name prints with --json
	// for the second part.
	API map[string]func(ctx context.Context, about string) (any, error)

	Hosts  []string // the names and addresses, with ports, by which phones may ask for this server
	Secure bool     // it is spoken to by TLS

	views   *views
	rates   *rates
	guesses *rates
	said    notes
	noPIN   sync.Map // who just signed without a PIN, since nobody has one
}

// Handler is all pages behind the guard.
func (s *Server) Handler() (http.Handler, error) {
	var err error
	if s.views, err = readViews(); err != nil {
		return nil, err
	}
	s.Prove = nil // the form asks
	s.Unsigned = func(who registry.Initials) { s.noPIN.Store(who, true) }
	s.rates, s.guesses = newRates(perPhone, burstOfPhone), newRates(guessEvery, burstOfGuesses)
	mux := http.NewServeMux()
	files, err := fs.Sub(assets, "assets")
	if err != nil {
		return nil, err
	}
	mux.Handle("GET /assets/", http.StripPrefix("/assets/", cached(http.FileServerFS(files))))
	mux.HandleFunc("GET /scheme.css", s.schemeCSS)
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.Write([]byte("ok\n"))
	})
	mux.HandleFunc("GET /welcome", s.welcome)
	mux.HandleFunc("GET /pair", s.showPair)
	mux.HandleFunc("POST /pair", s.pair)
	for pattern, handle := range map[string]handler{
		"GET /{$}":         s.home,
		"POST /find":       s.find,
		"GET /work":        s.home,
		"GET /work/{role}": s.home,
		"POST /unpair":     s.unpair,
		// Labels print capitals.
		"GET /m/{tag}": s.unit,
		"GET /M/{tag}": s.unit,

		"GET /m/{tag}/history": s.history,
		"GET /m/{tag}/{step}":  s.stepOf,
		"POST /m/{tag}/{step}": s.stepOf,

		"GET /log":             s.log,
		"POST /log":            s.log,
		"GET /place":           s.shelf,
		"POST /place":          s.shelf,
		"POST /scan":           s.scan,
		"GET /orders":          s.orders,
		"GET /orders/{order}":  s.order,
		"POST /orders/{order}": s.order,
		"GET /plates":          s.plates,
		"GET /board":           s.board,
		"GET /board/{role}":    s.board,

		"GET /photos/{file}":      s.photo,
		"GET /examples/{file}":    s.example,
		"GET /story/{tag}":        s.story,
		"GET /api/{what}":         s.api,
		"GET /api/{what}/{about}": s.api,
	} {
		mux.HandleFunc(pattern, s.paired(handle))
	}
	mux.HandleFunc("/", s.paired(func(v *visit) error {
		return registry.Errorf(registry.NotFound,
			"there is no page at that address: go back, or scan a label")
	}))
	return s.guard(mux), nil
}

// visit is one request of a paired phone.
type visit struct {
	*http.Request
	w     http.ResponseWriter
	by    registry.Initials
	phone *phone.Phone
}

// handler answers a paired phone; its error becomes a page that says so, and what to do.
type handler func(v *visit) error

func (v *visit) ctx() context.Context { return v.Request.Context() }

// tag reads the tag in the address.
func (v *visit) tag() (registry.Tag, error) { return registry.ParseTag(v.PathValue("tag")) }

// api answers programs: what the command prints with --json, or its refusal.
func (s *Server) api(v *visit) error {
	give := s.API[v.PathValue("what")]
	if give == nil {
		return registry.Errorf(registry.NotFound,
			"there is nothing at that address: see the help on phones for what programs may ask")
	}
	answer, err := give(v.ctx(), v.PathValue("about"))
	if err != nil {
		return err
	}
	writeJSON(v.w, http.StatusOK, answer)
	return nil
}

func writeJSON(w http.ResponseWriter, status int, answer any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	// The status has gone out; a phone that hangs up is no fault.
	_ = e.Encode(answer)
}

// localTime is a time as people in the house read it.
func (s *Server) localTime(at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return at.In(s.Config.Location()).Format("2006-01-02 15:04")
}
