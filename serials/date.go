package serials

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/years"
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
	// the year in which the machine was there to be seen, so it is no younger; 0 = not said
	Here int
	// the year that a person answers a contradiction with, or knows from elsewhere; 0 if nobody does
	Told    int
	Because string // and why
}

// Date estimates the year. The error is an *InputError: something in the query cannot be read. Whatever can
// be read is answered, also when the answer is that nothing is known or that the evidence contradicts itself.
func (t *Tables) Date(q Query) (Answer, error) { return t.date(q, withAdvice) }

// DateBare answers as Date does, without advice on what else to look at or type.
func (t *Tables) DateBare(q Query) (Answer, error) { return t.date(q, withLikely) }

// extent is how much of an answer is wanted; each takes longer than the one before.
type extent int

const (
	yearsAlone extent = iota
	withLikely        // which year within them is the likely one, too
	withAdvice
)

func (t *Tables) date(q Query, wanted extent) (Answer, error) {
	advice := wanted >= withAdvice
	a := Answer{Serial: stamp.None, Maker: strings.TrimSpace(q.Maker),
		Estimate: years.Estimate{Basis: years.NoBasis}}
	m := t.maker(q.Maker)
	if m != nil {
		a.Maker = m.name
	}
	serial, works := "", ""
	if !strings.EqualFold(strings.TrimSpace(q.Serial), stamp.None) {
		var err error
		if serial, err = stamp.Read(q.Serial); err != nil {
			return Answer{}, err
		}
		a.Serial = serial
		if m != nil && m.forms != nil {
			serial, works = a.byForm(m, q)
		}
		at := stamp.LastLetter(serial) + 1
		a.Prefix = serial[:at]
		if !stamp.Worn(serial) {
			a.Number.N, a.Number.Known = stamp.ParseNumber(serial[at:])
		}
	}
	if err := t.evidence(&a, m, q); err != nil {
		return Answer{}, err
	}
	if r := m.register(q.Model); r != nil { // its numbers are apart from all others
		a.apart(r)
		m = r.numbers
	}
	m = m.atWorks(works)
	limits := a.limits()
	switch {
	case m == nil:
		if advice && (serial != "" || strings.TrimSpace(q.Model) != "") {
			t.unknownMaker(&a)
		}
	case serial == "":
		if advice && a.Serial != stamp.None {
			a.suggest(m, stamp.WithMarks(q.Serial, false)) // written in no form of the maker
		}
	case stamp.Worn(serial):
		a.worn(m, serial, limits, advice)
	default:
		a.plain(m)
	}
	if q.Here != 0 && int(a.From) > q.Here {
		a.Bounds = append(a.Bounds,
			Bound{NotAfter, years.Year(q.Here), fmt.Sprintf("it is here in %d", q.Here)})
		limits = a.limits()
	}
	if a.Basis == years.NoBasis && serial != "" && m != nil && advice && len(m.order) > 0 {
		a.noRow(m, serial, stamp.Clean(q.Serial))
	}
	a.weigh(limits)
	if q.Told != 0 {
		if err := a.told(q); err != nil {
			return Answer{}, err
		}
		limits = years.Span{From: a.From, To: a.To}
	}
	a.Contradicted = a.Estimate.Contradicted()
	a.About = a.rough && !a.allotted && a.Basis != years.Told && a.From == a.To && a.Best != 0
	if wanted >= withLikely || len(q.Clues) > 0 {
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
		a.note("there is no table for maker %s; nearest: %s", stamp.Quoted(a.Maker), strings.Join(near, ", "))
	case len(t.names) > 0:
		a.note("there is no table for maker %s; there are tables for %s", stamp.Quoted(a.Maker),
			someOf(t.names, 10))
	default:
		a.note("there is no table for maker %s, nor for any other", stamp.Quoted(a.Maker))
	}
}

func someOf(list []string, n int) string {
	if len(list) > n {
		return fmt.Sprintf("%s and %d more", strings.Join(list[:n], ", "), len(list)-n)
	}
	return strings.Join(list, ", ")
}

// plain dates a serial without worn characters.
func (a *Answer) plain(m *maker) {
	s := m.series[a.Prefix]
	if s == nil || !a.Number.Known { // letters behind the digits may be a prefix, but no number follows
		return
	}
	n := a.Number.N
	a.Estimate = s.At(n)
	places, around := s.Holding(n)
	a.use(s, places)
	g := &s.Segments[s.Find(n)]
	a.spans = g.Spans(n)
	switch {
	case a.Basis == years.Overlap:
		a.clash(s, g, n, places)
	case around && len(places) == 2:
		if low, high := s.Rows[places[0]], s.Rows[places[1]]; low.To > high.From {
			a.conflict("the years of the tables run backwards between %s:%d and %s:%d", low.File, low.Line,
				high.File, high.Line)
		}
	}
}

// clash states which rows say what. Rows that stepped aside are not heard.
func (a *Answer) clash(s *series.Series, g *series.Segment, n uint64, places []int) {
	var says []string
	for _, i := range places {
		left := s.Cells[i].YearsOf(n)
		if g.Runs != nil &&
			!slices.ContainsFunc(g.Runs,
				func(r *series.Run) bool { return r.Open == s.Cells[i].Open && r.YearsOf(n) == left }) {
			continue
		}
		e := years.Estimate{From: left.From, To: left.To, Basis: years.Range}
		says = append(says, fmt.Sprintf("%s:%d says %s", s.Rows[i].File, s.Rows[i].Line, e.Year()))
	}
	a.conflict("number %s%d stands in %d rows: %s", a.Prefix, n, len(says), someOf(says, maxNotes))
}

const maxNotes = 20 // from table rows; a worn serial can meet thousands of rows

// use takes over rows as the ground of the answer.
func (a *Answer) use(s *series.Series, places []int) {
	for _, i := range places {
		r := s.Rows[i]
		if len(a.Rows) == 0 {
			a.allotted = true
		}
		a.allotted = a.allotted && r.Allotted()
		unsure := 0 < r.Confidence && r.Confidence < 1
		a.rough = a.rough || unsure || strings.Contains(strings.ToLower(r.Note), "approx")
		a.Rows = append(a.Rows,
			Hit{File: r.File, Line: r.Line, First: r.First, Last: r.Last, From: r.From, To: r.To,
				Source: r.Source, row: r})
		if len(a.Notes) > maxNotes {
			continue
		}
		if unsure {
			a.note("%s:%d is right in about %.0f of 100, as the table says of itself", r.File, r.Line,
				r.Confidence*100)
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
func (a *Answer) worn(m *maker, serial string, limits years.Span, advice bool) {
	all, fillings, covered := m.tally(serial, years.Span{}, -1)
	if fillings == 0 {
		return
	}
	fits, seen := 0, map[years.Span]bool{}
	for _, s := range m.order {
		d, ok := s.Fit(serial)
		if !ok {
			continue
		}
		low, high := d.Ends()
		var places []int
		for i, c := range s.Cells {
			if c.First <= high && c.Last >= low && d.In(c.First, c.Last) > 0 {
				places = append(places, i)
			}
		}
		a.use(s, places)
		s.Each(d, func(i int, _ uint64) {
			for _, left := range s.Segments[i].Spans(s.Starts[i]) {
				if !seen[left] {
					seen[left] = true
					a.spans = append(a.spans, left)
				}
			}
		})
		a.Prefix = s.Prefix
		fits++
	}
	if fits > 1 {
		a.Prefix = serial[:stamp.LastLetter(serial)+1] // which prefix it is cannot be read
	}
	a.stray = covered < fillings
	a.settle(years.HullOf(a.spans), years.Pattern)
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
	if narrowed, _, _ := m.tally(serial, limits, -1); narrowed.Total > 0 {
		all = narrowed
	}
	a.Shares = all.Shares()
	if all.Open {
		a.note("the last row of the table is open: its share stands under its first possible year and may " +
			"be later")
	}
	if advice {
		if i := m.telling(serial, limits); i >= 0 {
			if i = placeIn(a.Serial, serial, i); i >= 0 {
				a.note("reading the %s character of %s would settle the year best", stamp.Ordinal(i+1),
					a.Serial)
			}
		}
	}
}

// noRow says what was read in vain, and what the volunteer may have misread. A zero that normalising drops
// may be a letter O, so typed still has its zeros.
func (a *Answer) noRow(m *maker, serial, typed string) {
	a.note("no row for %s in the tables read: %s", a.Serial, someOf(m.files, 10))
	if a.suggest(m, typed) {
		return
	}
	var prefixes []string
	for _, s := range m.order {
		prefixes = append(prefixes, s.Prefix)
	}
	if len(prefixes) == 0 {
		return
	}
	prefix := serial[:stamp.LastLetter(serial)+1]
	sort.SliceStable(prefixes,
		func(i, j int) bool { return distance(prefix, prefixes[i]) < distance(prefix, prefixes[j]) })
	if prefixes[0] == "" {
		a.note("the nearest prefix that exists is none at all: plain numbers")
	} else {
		a.note("the nearest prefix that exists is %s", prefixes[0])
	}
}
