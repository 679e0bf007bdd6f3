// Package story tells one machine's life for whoever gave it, learns on it or pays for its way: one page that
// stands by itself, loads nothing, and prints on one sheet.
//
// It says only what the records prove. Donor, notes, people, places and partner stay out unless the house
// names them in house.toml: the story is built from a list of what may be told, so that a field nobody
// thought of is never told by accident.
package story

import (
	"cmp"
	"context"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/intake"
	"pitman/registry/orders"
	"pitman/registry/photo"
	"pitman/registry/pictures"
	"pitman/registry/promise"
	"pitman/registry/recall"
	"pitman/registry/stock"
)

//go:embed story.html.tmpl
var files embed.FS

var page = template.Must(template.ParseFS(files, "story.html.tmpl"))

// What fits on one sheet.
const (
	maxPictures = 3
	maxLines    = 14
	pictureSide = 900 // dots
)

// Stories is the room where a machine's life is told.
type Stories struct {
	*stock.Stock
	*pictures.Pictures
	Intake *intake.Intake
	Jobs   *bench.Lists
	Config *StoryConfig
}

// Story is what is told of a machine.
type Story struct {
	House    string   `json:"house"`
	Tag      string   `json:"tag"`
	Name     string   `json:"name"`
	Year     string   `json:"year"`
	Reasons  []string `json:"reasons"`
	Drive    string   `json:"drive"`
	Stage    string   `json:"stage"`
	Donor    string   `json:"donor,omitempty"`
	Note     string   `json:"note,omitempty"`
	Place    string   `json:"place,omitempty"`
	Partner  string   `json:"partner,omitempty"`
	Warnings []string `json:"warnings"`
	Done     []Line   `json:"done"`
	Pictures []string `json:"photos"` // by their names

	shown []Picture
}

// Line is one thing that happened.
type Line struct {
	Day  string `json:"day"`
	What string `json:"what"`
	By   string `json:"by,omitempty"`
}

// Picture is a picture within the page.
type Picture struct {
	Source template.URL
	Alt    string
}

// Story reads what may be told of a machine.
func (w *Stories) Story(ctx context.Context, tag registry.Tag) (*Story, error) {
	m, err := w.Machine(ctx, tag)
	if err != nil {
		return nil, err
	}
	tells := w.Config.Told
	s := &Story{House: w.Stock.Config.House.Name, Tag: string(m.Tag),
		Name: strings.TrimSpace(m.Maker + " " + m.Model), Year: m.Year(), Drive: string(m.Drive),
		Stage: stands(m), Warnings: append([]string{}, w.Warnings(m)...), Reasons: []string{},
		Done: []Line{}, Pictures: []string{}}
	if answer, err := w.Intake.Date(m); err == nil {
		for _, line := range answer.Lines() {
			s.Reasons = append(s.Reasons, strings.TrimSpace(line))
		}
	} else if registry.CodeOf(err) == "" {
		return nil, err
	}
	if tells("donor") {
		s.Donor = m.Donor
	}
	if tells("notes") {
		s.Note = strings.Trim(m.Condition+"; "+m.Note, "; ")
	}
	if tells("places") && m.Here() {
		s.Place = m.Place
	}
	if err := s.tell(ctx, w, m); err != nil {
		return nil, err
	}
	photos, err := w.Photos(ctx, tag)
	if err != nil {
		return nil, err
	}
	for _, shows := range []string{"whole", "decal", "plate"} { // a fault is nobody's keepsake
		for _, p := range photos {
			if p.Shows == shows && len(s.Pictures) < maxPictures {
				s.Pictures = append(s.Pictures, p.Name)
			}
		}
	}
	return s, nil
}

// where says a stage to somebody who does not work here.
var where = map[registry.Stage]string{
	registry.Logged: "came in, and waits for somebody to decide", registry.Queued: "waits for a bench",
	registry.Bench: "is being worked on",
	registry.Check: "waits for its tests", registry.Ready: "is tested and ready",
	registry.Reserved: "is promised to somebody who will sew on it",
	registry.Packed:   "is in its crate", registry.Shipped: "has left to be sewn on",
	registry.Parts: "gives its parts, so that others sew again",
	registry.Sold:  "was sold, for the workshop's work", registry.Scrapped: "could not be saved",
	registry.Held: "is stopped for a reason",
}

// stands says where a machine stands, and who says so where that is an old list.
func stands(m *stock.Machine) string {
	if m.MovedIn != "" && m.Stage == registry.Ready {
		return "is ready, as the list of the workshop told"
	}
	return where[m.Stage]
}

// tell collects what was done from the records, oldest first.
func (s *Story) tell(ctx context.Context, w *Stories, m *stock.Machine) error {
	jobs, err := stock.Rows(w.Jobs.Jobs)
	if err != nil {
		return err
	}
	what := map[string]string{}
	for _, j := range jobs {
		what[j.Job] = j.What
	}
	add := func(at time.Time, by registry.Initials, format string, args ...any) {
		line := Line{Day: w.LocalDay(at), What: fmt.Sprintf(format, args...)}
		if w.Config.Told("people") {
			line.By = string(by)
		}
		s.Done = append(s.Done, line)
	}
	return w.Store.View(ctx, func(r stock.Reader) error {
		add(m.LoggedAt, m.LoggedBy, "It came to the workshop.")
		var work []bench.Work
		if err := r.All(&work, stock.Fields{"tag": m.Tag}); err != nil {
			return err
		}
		minutes := 0
		for _, k := range work {
			minutes += k.Minutes
			var did []string
			for _, job := range k.Jobs {
				if did = append(did, job); what[job] != "" {
					did[len(did)-1] = what[job]
				}
			}
			if w.Config.Told("notes") && k.Note != "" {
				did = append(did, k.Note)
			}
			if len(did) > 0 {
				add(k.At, k.By, "At the bench: %s.", strings.Join(did, "; "))
			}
		}
		if minutes > 0 {
			add(work[len(work)-1].At, "", "%s at the bench %s written down.", span(minutes),
				registry.Agree(minutes, "is", "are"))
		}
		var tests []bench.FunctionTest
		if err := r.All(&tests, stock.Fields{"tag": m.Tag}); err != nil {
			return err
		}
		if n := len(tests); n > 0 && tests[n-1].Pass && !m.TestedAt.IsZero() {
			if points := len(tests[n-1].Points); points > 0 {
				add(m.TestedAt, m.TestedBy, "It passed its function test of %s.",
					registry.Counted(points, "point"))
			} else { // it moved in
				add(m.TestedAt, m.TestedBy,
					"It had passed a function test by then, as the list of the workshop told.")
			}
		}
		if err := s.safety(r, w, m, add); err != nil {
			return err
		}
		err := s.left(r, w, m, add)
		slices.SortStableFunc(s.Done, func(a, b Line) int { return cmp.Compare(a.Day, b.Day) })
		return err
	})
}

// safety tells of the safety pass that stands, and of one that was withdrawn since the machine left.
func (s *Story) safety(r stock.Reader, w *Stories, m *stock.Machine,
	add func(time.Time, registry.Initials, string, ...any)) error {
	if !m.TakesMains() || !w.SafetyStands(m) {
		return nil
	}
	withdrawn, err := recall.Withdrawn(r, m, w.LocalDay)
	if err != nil {
		return err
	}
	if withdrawn != "" {
		add(m.SafetyAt, "", "The workshop has withdrawn the electrical safety test of that day: do not plug "+
			"it in before a competent person has tested it again.")
		return nil
	}
	letters, err := bench.PassHouse(r, m)
	if err != nil {
		return err
	}
	where := ""
	if letters != "" {
		where = " in the house " + letters
	}
	add(m.SafetyAt, m.SafetyBy, "A competent person recorded a passed electrical safety test of that day%s. "+
		"It is no promise for later: have a competent person test it again before it is used elsewhere.",
		where)
	return nil
}

// left tells where the machine went, as far as the house tells.
func (s *Story) left(r stock.Reader, w *Stories, m *stock.Machine,
	add func(time.Time, registry.Initials, string, ...any)) error {
	if m.Stage != registry.Shipped {
		return nil
	}
	to := "somebody who sews on it"
	if w.Config.Told("partner") {
		if set, err := promise.SetOf(r, m.Tag); err == nil {
			o, err := orders.OrderByNumber(r, set.Order)
			if err != nil {
				return err
			}
			s.Partner, to = o.Partner, o.Partner
		} else if registry.CodeOf(err) != registry.NotFound {
			return err
		}
	}
	if m.MovedIn != "" {
		add(m.StageSince, "", "It had left by then, as the list of the workshop told.")
		return nil
	}
	add(m.StageSince, "", "It left for %s.", to)
	return nil
}

func span(minutes int) string {
	if minutes < 90 {
		return registry.Counted(minutes, "minute")
	}
	return fmt.Sprintf("%.1f hours", float64(minutes)/60)
}

// WriteHTML writes the page, with its pictures within it.
func (s *Story) WriteHTML(w io.Writer, photos photo.Store) error {
	s.shown = nil
	for i, name := range s.Pictures {
		small, err := photos.Small(name, pictureSide)
		if registry.CodeOf(err) != "" {
			continue // missing or damaged, as verify says; the story stands without it
		}
		if err != nil {
			return err
		}
		s.shown = append(s.shown,
			Picture{template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(small)),
				fmt.Sprintf("Picture %d of the machine %s", i+1, s.Tag)})
	}
	done, more := s.Done, 0
	if len(done) > maxLines {
		// How it came and what came last matter most.
		more = len(done) - maxLines
		done = append(append([]Line{}, done[0]), done[len(done)-maxLines+1:]...)
	}
	return page.Execute(w, struct {
		*Story
		Shown []Picture
		Lines []Line
		More  int
	}{s, s.shown, done, more})
}
