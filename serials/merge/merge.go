// Package merge makes one table of serial numbers out of two, and says where the two differ. Numbers to which
// both give years get those on which they agree. Where no year remains both rows stay, as every answer then
// says, unless somebody tells which of the two tables is to be believed: a row that spanned both would claim
// a middle that neither has.
package merge

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"pitman/serials/names"
	"pitman/serials/table"
	"pitman/serials/years"
)

// Difference is a stretch of numbers to which rows give other years.
type Difference struct {
	Maker   string  `json:"maker"`
	Numbers string  `json:"numbers"`
	Rows    []Place `json:"rows"`
	Years   string  `json:"years"` // of the merged row; empty where there is none
	Clash   bool    `json:"clash"` // no year agrees with all the rows
	Kept    bool    `json:"kept"`  // so all of them stand in the merged table
}

// Place is a row and what it says.
type Place struct {
	File  string `json:"file"`
	Line  int    `json:"line"`
	Years string `json:"years"`
}

// Says tells the difference in one sentence.
func (d Difference) Says() string {
	var says []string
	for _, p := range d.Rows {
		says = append(says, fmt.Sprintf("%s (%s:%d)", p.Years, p.File, p.Line))
	}
	what := "they agree on " + d.Years
	switch {
	case d.Years == "" && !d.Kept:
		what = "an open row, left out for rows that hold its first number"
	case d.Clash && d.Kept:
		what = "no year agrees with both, and both are kept"
	case d.Clash:
		what = "no year agrees with both; the merged row says " + d.Years
	}
	return fmt.Sprintf("%s %s: %s: %s", d.Maker, d.Numbers, strings.Join(says, ", "), what)
}

// Tables merges two tables; the first decides how a maker is spelt. Where no year agrees with both, the rows
// of the file that is to be believed count; none may be. ok is false where the result is more than a table
// may hold: rows that lie within each other are cut up by all of them.
func Tables(one, other *table.Table, believed string) (merged []table.Row, differ []Difference, ok bool) {
	type line struct{ maker, prefix string }
	groups := map[line][]*table.Row{}
	spelt := map[string]string{}
	for _, t := range []*table.Table{one, other} {
		for i := range t.Rows {
			r := t.Rows[i]
			key := names.MakerKey(r.Maker)
			if spelt[key] == "" {
				spelt[key] = r.Maker
			}
			r.Maker = spelt[key]
			at := line{key, r.Prefix}
			groups[at] = append(groups[at], &r)
		}
	}
	room := 2 * table.MaxRows // most pieces are of one row of each table
	for _, rows := range groups {
		m, d := group(rows, believed, &room)
		if room < 0 {
			return nil, nil, false
		}
		merged, differ = append(merged, m...), append(differ, d...)
	}
	slices.SortFunc(merged, func(a, b table.Row) int {
		return cmp.Or(cmp.Compare(a.Maker, b.Maker), cmp.Compare(a.Prefix, b.Prefix),
			cmp.Compare(a.First, b.First), cmp.Compare(a.Model, b.Model), cmp.Compare(a.Works, b.Works),
			cmp.Compare(a.Last.N, b.Last.N), cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
	})
	slices.SortFunc(differ, func(a, b Difference) int {
		return cmp.Or(cmp.Compare(a.Maker, b.Maker), cmp.Compare(a.Rows[0].File, b.Rows[0].File),
			cmp.Compare(a.Rows[0].Line, b.Rows[0].Line), cmp.Compare(len(a.Numbers), len(b.Numbers)),
			cmp.Compare(a.Numbers, b.Numbers))
	})
	return merged, differ, true
}

// series tells machines that are numbered apart: by model and by works. A row that names neither goes with
// all.
type series struct{ model, works string }

func seriesOf(r *table.Row) series {
	return series{names.ModelKey(r.Model), strings.ToLower(strings.TrimSpace(r.Works))}
}

func (s series) of(r *table.Row) bool {
	own := seriesOf(r)
	return (own.model == "" || own.model == s.model) && (own.works == "" || own.works == s.works)
}

// piece is a stretch of numbers that the same rows hold.
type piece struct {
	first, last uint64
	series      series
	rows        []*table.Row
}

// group merges the rows of one maker and prefix, as long as there is room for them.
func group(rows []*table.Row, believed string, room *int) (merged []table.Row, differ []Difference) {
	var closed, open, models []*table.Row
	for _, r := range rows {
		switch {
		case r.ModelOnly:
			models = append(models, r)
		case r.Last.Known:
			closed = append(closed, r)
		default:
			open = append(open, r)
		}
	}
	take := func(same []*table.Row, numbered func(*table.Row)) {
		rows, d := joined(same, believed)
		for i := range rows {
			numbered(&rows[i])
		}
		merged = append(merged, rows...)
		if d != nil {
			d.Numbers = rows[0].Numbers()
			differ = append(differ, *d)
		}
	}
	asIs := func(*table.Row) {}
	pieces := cut(closed, room)
	for _, p := range pieces {
		take(p.rows, func(r *table.Row) { r.First, r.Last = p.first, table.Known(p.last) })
	}
	for _, same := range alike(models, func(*table.Row) uint64 { return 0 }) {
		take(same, asIs)
	}
	for _, same := range alike(open, func(r *table.Row) uint64 { return r.First }) {
		i := slices.IndexFunc(pieces, func(p piece) bool {
			return p.first <= same[0].First && same[0].First <= p.last &&
				(p.series.of(same[0]) || seriesOf(same[0]) != series{} && seriesOf(same[0]).covers(p.series))
		})
		if i < 0 {
			take(same, asIs)
			continue
		}
		// what begins there is said by rows with an end
		d := Difference{Maker: same[0].Maker, Numbers: same[0].Numbers(), Rows: places(append(same,
			pieces[i].rows...))}
		differ = append(differ, d)
	}
	return merged, differ
}

// covers says whether a row of one series can be compared with those of another.
func (s series) covers(other series) bool {
	return (s.model == "" || other.model == "" || s.model == other.model) &&
		(s.works == "" || other.works == "" || s.works == other.works)
}

// cut parts the line of numbers where a row begins or ends.
func cut(rows []*table.Row, room *int) (pieces []piece) {
	var cuts []uint64
	for _, r := range rows {
		cuts = append(cuts, r.First, r.Last.N+1)
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	slices.SortStableFunc(rows, func(a, b *table.Row) int { return cmp.Compare(a.First, b.First) })
	before := map[series]int{} // the last piece of each series
	var here []*table.Row
	for i, next := 0, 0; i+1 < len(cuts); i++ {
		here = slices.DeleteFunc(here, func(r *table.Row) bool { return r.Last.N < cuts[i] })
		for ; next < len(rows) && rows[next].First == cuts[i]; next++ {
			here = append(here, rows[next])
		}
		for _, s := range apart(here) {
			p := piece{first: cuts[i], last: cuts[i+1] - 1, series: s}
			for _, r := range here {
				if s.of(r) {
					p.rows = append(p.rows, r)
				}
			}
			if k, ok := before[s]; ok && pieces[k].last+1 == p.first && slices.Equal(pieces[k].rows, p.rows) {
				pieces[k].last = p.last
				continue
			}
			if *room -= len(p.rows); *room < 0 {
				return nil
			}
			before[s] = len(pieces)
			pieces = append(pieces, p)
		}
	}
	return pieces
}

// apart lists the series that rows on the same numbers are of; none is one, too, while nobody names another.
func apart(rows []*table.Row) (list []series) {
	for _, r := range rows {
		if s := seriesOf(r); s != (series{}) && !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	if len(rows) > 0 && len(list) == 0 {
		list = []series{{}}
	}
	return list
}

// alike puts together the rows that begin at one number in one series.
func alike(rows []*table.Row, at func(*table.Row) uint64) (out [][]*table.Row) {
	type key struct {
		series
		at uint64
	}
	place := map[key]int{}
	for _, r := range rows {
		k := key{seriesOf(r), at(r)}
		i, ok := place[k]
		if !ok {
			i = len(out)
			place[k], out = i, append(out, nil)
		}
		out[i] = append(out[i], r)
	}
	return out
}

// joined is the row that says what all of these say together, or each of them where that is nothing, and what
// is to be told of it.
func joined(rows []*table.Row, believed string) ([]table.Row, *Difference) {
	spans := spansOf(rows)
	both, agree := years.MeetAll(spans)
	if !slices.ContainsFunc(spans, func(s years.Span) bool { return s != spans[0] }) {
		return []table.Row{one(rows, both, "")}, nil
	}
	d := &Difference{Maker: rows[0].Maker, Rows: places(rows), Clash: !agree}
	counting := rows
	if !agree {
		counting = slices.DeleteFunc(slices.Clone(rows),
			func(r *table.Row) bool { return r.File != believed })
		if len(counting) > 0 {
			both, agree = years.MeetAll(spansOf(counting))
		}
	}
	if !agree {
		d.Kept = true
		var kept []table.Row
		for i, r := range rows {
			if slices.IndexFunc(rows, func(o *table.Row) bool {
				return o.From == r.From && o.To == r.To && o.Source == r.Source
			}) == i {
				kept = append(kept, one(rows[i:i+1], spans[i], ""))
			}
		}
		return kept, d
	}
	var says []string
	for _, p := range d.Rows {
		says = append(says, fmt.Sprintf("%s:%d says %s", p.File, p.Line, p.Years))
	}
	r := one(counting, both, strings.Join(says, ", "))
	d.Years = r.Years()
	return []table.Row{r}, d
}

func spansOf(rows []*table.Row) (spans []years.Span) {
	for _, r := range rows {
		spans = append(spans, years.Span{From: r.From, To: r.To})
	}
	return spans
}

// one is a row of these years with what stands in the others beside them.
func one(rows []*table.Row, made years.Span, note string) table.Row {
	r := *rows[0]
	var sources, notes []string
	for _, o := range rows {
		r.Model, r.Works = cmp.Or(r.Model, o.Model), cmp.Or(r.Works, o.Works)
		if r.Confidence != 0 { // what two say is as sure as the surer; nothing said is sure
			if r.Confidence = max(r.Confidence, o.Confidence); o.Confidence == 0 {
				r.Confidence = 0
			}
		}
		sources, notes = addNew(sources, o.Source), addNew(notes, o.Note)
	}
	r.From, r.To = made.From, made.To
	r.Source, r.Note = text(sources), text(addNew(notes, note))
	r.File, r.Line = "", 0
	return r
}

func places(rows []*table.Row) (out []Place) {
	for _, r := range rows {
		out = append(out, Place{r.File, r.Line, r.Years()})
	}
	slices.SortFunc(out, func(a, b Place) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
	return out
}

// addNew adds what is not said yet; a table that was merged before has several texts in one cell.
func addNew(list []string, s string) []string {
	for part := range strings.SplitSeq(s, joint) {
		if part != "" && !slices.Contains(list, part) {
			list = append(list, part)
		}
	}
	return list
}

const joint = "; "

// text puts several texts into one cell, as long as a table may have it.
func text(list []string) string {
	s := strings.Join(list, joint)
	if len(s) <= table.MaxText {
		return s
	}
	at := table.MaxText - len("…")
	for !utf8.RuneStart(s[at]) {
		at--
	}
	return s[:at] + "…"
}
