package serials

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// Answer is an estimate with everything that led to it.
type Answer struct {
	Serial string `json:"serial"` // normalised
	// as the tables spell it, or as it was typed when they have no such maker
	Maker  string       `json:"maker"`
	Prefix string       `json:"prefix"`
	Number table.Number `json:"number"` // unknown when the serial is worn or missing
	years.Estimate
	Rows      []Hit          `json:"rows"`
	Shares    []series.Share `json:"shares"`
	Bounds    []Bound        `json:"bounds"`
	Conflicts []string       `json:"conflicts"`
	Notes     []string       `json:"notes"`

	Years []Chance `json:"years"` // how likely each year is; together 1 - Outside
	// the shortest stretch that holds 80 %; an end that falls outside is unknown
	Interval80 [2]years.Year `json:"interval80"`
	// how much of what the machine may be has no year in any table
	Outside      float64 `json:"outside"`
	Contradicted bool    `json:"contradicted"` // no year remains
	About        bool    `json:"-"`            // the single year is likely, and no more
	// the middle of Years; unknown when more than half lies outside
	Likely years.Year `json:"-"`

	allotted bool // every row behind the answer was allotted ahead of making
	rough    bool // the table itself says that its years are approximate
	stray    bool // some readings of a worn serial stand in no row
	readings readings
	spans    []years.Span
	clues    []table.Clue
	sources  []string // beside those of the rows
}

// Hit is a table row that the answer rests on.
type Hit struct {
	File   string       `json:"file"`
	Line   int          `json:"line"`
	First  uint64       `json:"first"`
	Last   table.Number `json:"last"`
	From   years.Year   `json:"from"`
	To     years.Year   `json:"to"`
	Source string       `json:"source"`

	row table.Row
}

// Row is the whole table row.
func (h Hit) Row() table.Row { return h.row }

// Chance is how likely a year is.
type Chance struct {
	Year years.Year `json:"year"`
	P    float64    `json:"p"`
}

// The kinds of bounds.
const (
	NotBefore = "not_before"
	NotAfter  = "not_after"
)

// Bound is a limit that evidence beside the serial number sets.
type Bound struct {
	Kind   string     `json:"kind"`
	Year   years.Year `json:"year"`
	Reason string     `json:"reason"`
}

// MarshalJSON writes empty lists as [], so that a reader need not know of null.
func (a Answer) MarshalJSON() ([]byte, error) {
	type plain Answer // without this method
	p := plain(a)
	p.Rows, p.Shares, p.Bounds = full(p.Rows), full(p.Shares), full(p.Bounds)
	p.Conflicts, p.Notes, p.Years = full(p.Conflicts), full(p.Notes), full(p.Years)
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false) // "Wheeler & Wilson" is to be read by people too
	err := e.Encode(p)
	return out.Bytes(), err
}

func full[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func (a *Answer) note(format string, args ...any) {
	a.Notes = addNew(a.Notes, fmt.Sprintf(format, args...))
}

func (a *Answer) conflict(format string, args ...any) {
	a.Conflicts = addNew(a.Conflicts, fmt.Sprintf(format, args...))
}

func addNew(list []string, s string) []string {
	for _, old := range list {
		if old == s {
			return list
		}
	}
	return append(list, s)
}

// Lines tells the answer to a person: one line with the year, then the reasons, then the sources.
func (a Answer) Lines() []string {
	lines := []string{a.headline()}
	if a.readings.all > a.readings.held {
		lines = append(lines, "  "+a.readings.String())
	}
	of := "the serials that remain possible"
	if a.stray {
		of = "the serials that a table row holds"
	}
	for _, s := range a.Shares {
		lines = append(lines, fmt.Sprintf("  %d: %s of %s", s.Year, percent(s.Share), of))
	}
	if len(a.Rows) <= maxLines {
		for _, r := range a.Rows {
			lines = append(lines, "  "+r.reason())
		}
	} else {
		lines = append(lines, fmt.Sprintf("  %d table rows hold a serial that remains possible", len(a.Rows)))
	}
	for _, b := range a.Bounds {
		lines = append(lines,
			fmt.Sprintf("  %s %d: %s", strings.ReplaceAll(b.Kind, "_", " "), b.Year, b.Reason))
	}
	for _, c := range a.Conflicts {
		lines = append(lines, "  clash: "+c)
	}
	for _, n := range a.Notes {
		if n == a.readings.String() {
			continue // said first
		}
		lines = append(lines, "  "+n)
	}
	sources := a.sources
	for _, c := range a.clues {
		lines = append(lines, "  "+c.String())
		if c.Source != "" {
			sources = addNew(sources, c.Source)
		}
	}
	for _, r := range a.Rows {
		if r.Source != "" {
			sources = addNew(sources, r.Source)
		}
	}
	for _, s := range sources {
		lines = append(lines, "Source: "+s)
	}
	return lines
}

const maxLines = 8 // rows told to a person; a worn serial can meet thousands

func (r Hit) reason() string {
	return "table row " + table.Row{Prefix: r.row.Prefix, First: r.First, Last: r.Last}.Numbers() + ": " +
		table.Row{From: r.From, To: r.To}.Years() +
		fmt.Sprintf(" (%s:%d)", r.File, r.Line)
}

func percent(share float64) string {
	switch p := share * 100; {
	case share == 1:
		return "all"
	case p >= 99.95:
		return "more than 99.9 %"
	case p < 0.1:
		return "less than 0.1 %"
	default:
		return fmt.Sprintf("%.1f %%", p)
	}
}

func (a Answer) headline() string {
	who := strings.TrimSpace(a.Maker + " " + a.Serial)
	if a.Serial == stamp.None {
		who = strings.TrimSpace(a.Maker + " without a serial number")
	}
	return who + ": " + a.years()
}

// years is the estimate as the first line says it: the one way, with what a person at the machine can make
// use of.
func (a Answer) years() string {
	allotted := ""
	if a.allotted {
		allotted = "number allotted "
	}
	switch {
	case a.Contradicted:
		return a.Year() + ": no year agrees with all that is known"
	case a.Basis == years.Overlap:
		return allotted + a.Year() + ": the tables clash"
	case a.Best != 0 && a.From != a.To && !a.About:
		return allotted + "about " + a.Best.String() + ", from " + a.From.String() + " to " + a.To.String()
	case a.From == 0 && a.To == 0 && !a.About:
		return "year " + a.Year()
	}
	return allotted + a.Year()
}

// readings counts what a worn serial may be.
type readings struct{ all, held uint64 }

func (r readings) String() string {
	if r.held == 0 {
		return fmt.Sprintf("none of the %d possible serials stands in a row: the years are those of the "+
			"rows around them", r.all)
	}
	return fmt.Sprintf("%d of the %d possible serials stand in no row of the tables", r.all-r.held, r.all)
}

// Year is the answer's estimate, said the one way.
func (a Answer) Year() string { return a.Say(a.About) }
