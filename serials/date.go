package serials

import (
	"fmt"
	"slices"
	"sort"
	"strings"
)

// Query is what is known of a machine: its maker, what is stamped on it, and other evidence of its age.
type Query struct {
	Serial string // as read, with ? for worn characters; None when there is none
	Maker  string // may be empty when there is no serial
	Model  string // narrows the years when the tables have rows for the model
	// patent numbers on the machine, "NO" or "NO@part"; D and RE before a design or a reissue
	Patents     []string
	PatentDates []int    // years of patents
	Seen        []int    // years of dated receipts, photographs, letters
	Clues       []string // marks on the machine that the tables of clues name
	Now         int      // the present year; a year after it is refused. 0 = not asked
	// the year that a person answers a contradiction with, or knows from elsewhere; 0 if nobody does
	Told    int
	Because string // and why
}

// Date estimates the year. The error is an *InputError: something in the query cannot be read. Whatever can
// be read is answered, also when the answer is that nothing is known or that the evidence contradicts itself.
func (t *Tables) Date(q Query) (Answer, error) { return t.date(q, true) }

// date leaves out the costlier advice when it is not wanted.
func (t *Tables) date(q Query, advice bool) (Answer, error) {
	a := Answer{Serial: None, Maker: strings.TrimSpace(q.Maker), Estimate: Estimate{Basis: NoBasis}}
	m := t.maker(q.Maker)
	if m != nil {
		a.Maker = m.name
	}
	serial := ""
	if !strings.EqualFold(strings.TrimSpace(q.Serial), None) {
		var err error
		if serial, err = readable(q.Serial); err != nil {
			return Answer{}, err
		}
		a.Serial = serial
		at := lastLetter(serial) + 1
		a.Prefix = serial[:at]
		if !worn(serial) {
			a.Number.N, a.Number.Known = number(serial[at:])
		}
	}
	if err := t.evidence(&a, m, q); err != nil {
		return Answer{}, err
	}
	if r := m.register(q.Model); r != nil { // its numbers are apart from all others
		a.apart(r)
		m = r.numbers
	}
	limits := a.limits()
	switch {
	case m == nil:
		if advice && (serial != "" || strings.TrimSpace(q.Model) != "") {
			t.unknownMaker(&a)
		}
	case serial == "":
	case worn(serial):
		a.worn(m, serial, limits, advice)
	default:
		a.plain(m)
	}
	if a.Basis == NoBasis && serial != "" && m != nil && advice && len(m.order) > 0 {
		a.noRow(m, serial, clean(q.Serial))
	}
	a.weigh(limits)
	if q.Told != 0 {
		if err := a.told(q); err != nil {
			return Answer{}, err
		}
		limits = span{a.From, a.To}
	}
	a.Contradicted = a.Estimate.Contradicted()
	a.About = a.rough && !a.allotted && a.Basis != Told && a.From == a.To && a.Best != 0
	if advice || len(q.Clues) > 0 {
		t.gather(&a, q)
		a.distribute(m, serial, limits)
	}
	return a, nil
}

func (t *Tables) unknownMaker(a *Answer) {
	switch near := t.Nearest(a.Maker); {
	case len(t.SharedBy(a.Maker)) > 0:
		a.note("%s is on machines of %s: say which maker it is", a.Maker,
			strings.Join(t.SharedBy(a.Maker), " and "))
	case a.Maker == "":
		a.note("no maker was given, so no table could be read")
	case len(near) > 0:
		a.note("there is no table for maker %s; nearest: %s", shown(a.Maker), strings.Join(near, ", "))
	case len(t.names) > 0:
		a.note("there is no table for maker %s; there are tables for %s", shown(a.Maker), someOf(t.names, 10))
	default:
		a.note("there is no table for maker %s, nor for any other", shown(a.Maker))
	}
}

func someOf(names []string, n int) string {
	if len(names) > n {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:n], ", "), len(names)-n)
	}
	return strings.Join(names, ", ")
}

// plain dates a serial without worn characters.
func (a *Answer) plain(m *maker) {
	s := m.series[a.Prefix]
	if s == nil || !a.Number.Known { // letters behind the digits may be a prefix, but no number follows
		return
	}
	n := a.Number.N
	a.Estimate = s.at(n)
	places, around := s.hits(n)
	a.use(s, places)
	g := &s.segments[s.find(n)]
	a.spans = g.spans(n)
	switch {
	case a.Basis == Overlap:
		a.clash(s, g, n, places)
	case around && len(places) == 2:
		if low, high := s.rows[places[0]], s.rows[places[1]]; low.To > high.From {
			a.conflict("the years of the tables run backwards between %s:%d and %s:%d", low.File, low.Line,
				high.File, high.Line)
		}
	}
}

// clash states which rows say what. Rows that stepped aside are not heard.
func (a *Answer) clash(s *series, g *segment, n uint64, places []int) {
	var says []string
	for _, i := range places {
		years := s.cells[i].says(n)
		if g.runs != nil &&
			!slices.ContainsFunc(g.runs,
				func(r *run) bool { return r.open == s.cells[i].open && r.says(n) == years }) {
			continue
		}
		e := Estimate{From: years.from, To: years.to, Basis: Range}
		says = append(says, fmt.Sprintf("%s:%d says %s", s.rows[i].File, s.rows[i].Line, e.Year()))
	}
	a.conflict("number %s%d stands in %d rows: %s", a.Prefix, n, len(says), someOf(says, maxNotes))
}

const maxNotes = 20 // from table rows; a worn serial can meet thousands of rows

// use takes over rows as the ground of the answer.
func (a *Answer) use(s *series, places []int) {
	for _, i := range places {
		r := s.rows[i]
		if len(a.Rows) == 0 {
			a.allotted = true
		}
		a.allotted = a.allotted && r.allotted()
		a.rough = a.rough || strings.Contains(strings.ToLower(r.Note), "approx")
		a.Rows = append(a.Rows,
			Hit{File: r.File, Line: r.Line, First: r.First, Last: r.Last, From: r.From, To: r.To,
				Source: r.Source, prefix: r.Prefix, row: r})
		if len(a.Notes) > maxNotes {
			continue
		}
		if r.Note != "" {
			a.note("the table notes: %s", r.Note)
		}
		if r.Works != "" {
			a.note("works: %s", r.Works)
		}
	}
}

// worn dates a serial with worn characters by all its possible fillings.
func (a *Answer) worn(m *maker, serial string, limits span, advice bool) {
	all, fillings, covered := m.tally(serial, span{}, -1)
	if fillings == 0 {
		return
	}
	fits, seen := 0, map[span]bool{}
	for _, s := range m.order {
		d, ok := fit(serial, s)
		if !ok {
			continue
		}
		low, high := d.ends()
		var places []int
		for i, c := range s.cells {
			if c.first <= high && c.last >= low && d.in(c.first, c.last) > 0 {
				places = append(places, i)
			}
		}
		a.use(s, places)
		s.each(d, func(i int, _ uint64) {
			for _, years := range s.segments[i].spans(s.starts[i]) {
				if !seen[years] {
					seen[years] = true
					a.spans = append(a.spans, years)
				}
			}
		})
		a.Prefix = s.prefix
		fits++
	}
	if fits > 1 {
		a.Prefix = serial[:lastLetter(serial)+1] // which prefix it is cannot be read
	}
	a.stray = covered < fillings
	a.settle(hullOf(a.spans), Pattern)
	if a.stray {
		a.Best = 0
	}
	a.readings = readings{fillings, covered}
	if a.stray {
		a.note("%s", a.readings)
	}
	if covered == 0 {
		return
	}
	if narrowed, _, _ := m.tally(serial, limits, -1); narrowed.total > 0 {
		all = narrowed
	}
	a.Shares = all.shares()
	if all.open {
		a.note("the last row of the table is open: its share stands under its first possible year and may " +
			"be later")
	}
	if advice {
		if i := m.telling(serial, limits); i >= 0 {
			a.note("reading the %s character of %s would settle the year best", ordinal(i+1), serial)
		}
	}
}

// noRow says what was read in vain, and what the volunteer may have misread. A zero that normalising drops
// may be a letter O, so typed still has its zeros.
func (a *Answer) noRow(m *maker, serial, typed string) {
	a.note("no row for %s in the tables read: %s", serial, someOf(m.files, 10))
	if a.suggest(m, typed) {
		return
	}
	var prefixes []string
	for _, s := range m.order {
		prefixes = append(prefixes, s.prefix)
	}
	if len(prefixes) == 0 {
		return
	}
	prefix := serial[:lastLetter(serial)+1]
	sort.SliceStable(prefixes,
		func(i, j int) bool { return distance(prefix, prefixes[i]) < distance(prefix, prefixes[j]) })
	if prefixes[0] == "" {
		a.note("the nearest prefix that exists is none at all: plain numbers")
	} else {
		a.note("the nearest prefix that exists is %s", prefixes[0])
	}
}
