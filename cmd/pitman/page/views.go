package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"pitman/labels"
)

//go:embed assets
var assets embed.FS

//go:embed templates
var templates embed.FS

// views are the pages, each within the frame that all share.
type views struct{ pages map[string]*template.Template }

func readViews() (*views, error) {
	frame, err := template.ParseFS(templates, "templates/frame.html")
	if err != nil {
		return nil, err
	}
	entries, err := templates.ReadDir("templates")
	if err != nil {
		return nil, err
	}
	v := &views{map[string]*template.Template{}}
	for _, e := range entries {
		if e.Name() == "frame.html" {
			continue
		}
		page, err := template.Must(frame.Clone()).ParseFS(templates, "templates/"+e.Name())
		if err != nil {
			return nil, err
		}
		v.pages[e.Name()] = page
	}
	return v, nil
}

// framed is what the frame shows round every page.
type framed struct {
	House string
	Title string
	By    string // of a paired phone
	Clock string // that it is behind
	On    any    // what the page itself shows
}

// show writes a page. It is made whole first, so that a page is never cut off in the middle.
func (s *Server) show(w http.ResponseWriter, r *http.Request, status int, view, title string, on any) {
	f := framed{House: s.Config.House.Name, Title: title, Clock: s.ClockBehind(), On: on}
	if v, ok := r.Context().Value(visitKey{}).(string); ok {
		f.By = v
	}
	var text bytes.Buffer
	if err := s.views.pages[view].ExecuteTemplate(&text, "frame", f); err != nil {
		s.Journal.Printf("internal error in %s: %v", view, err)
		http.Error(w, "Something broke inside.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Length", fmt.Sprint(text.Len()))
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		_, _ = w.Write(text.Bytes()) // a phone that hangs up is no fault
	}
}

type visitKey struct{}

// cached lets a browser keep what is embedded for an hour. It lists no folder.
func cached(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "" || strings.HasSuffix(r.URL.Path, "/") {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Cache-Control", "max-age=3600")
		next.ServeHTTP(w, r)
	})
}

// sentence is a refusal as it stands on a page: with a capital, and a full stop.
func sentence(err error) string {
	text := err.Error()
	if text == "" {
		return text
	}
	text = strings.ToUpper(text[:1]) + text[1:]
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

// schemeCSS gives each stage the colours that it has on the house's labels.
func (s *Server) schemeCSS(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	for _, stage := range labels.Stages {
		band := s.Scheme.Stage[stage]
		fmt.Fprintf(w, ".stage-%s { background: %s; color: %s; }\n", stage, band.Colour, band.Ink)
	}
}
