package series

import (
	"math"
	"unicode/utf8"

	"pitman/serials/stamp"
	"pitman/serials/years"
)

// Fit lays a worn serial over the prefix of a series: what is left must be digits or worn.
func (s *Series) Fit(serial string) (stamp.Digits, bool) {
	rest := serial
	for _, r := range s.Prefix {
		c, size := utf8.DecodeRuneInString(rest)
		if rest == "" || c != '?' && c != r {
			return stamp.Digits{}, false
		}
		rest = rest[size:]
	}
	if rest == "" || len(rest) > stamp.MaxDigits {
		return stamp.Digits{}, false
	}
	for i := range len(rest) {
		if rest[i] != '?' && !stamp.IsDigit(rest[i]) {
			return stamp.Digits{}, false
		}
	}
	return stamp.Digits{Text: rest, LeadingZero: s.padded}, true
}

// Tally holds, for each year, how many fillings of a worn serial the tables put there. A filling in rows that
// clash counts in each of their years; a row of several years spreads its hits evenly over them, and so does
// an open row up to the row behind it. The last open row counts under its first year, or under the year that
// other evidence lifts it to; evidence that ends it makes it a bracket like any other, for otherwise its
// first year would pass for certain.
type Tally struct {
	weight [years.Last - years.First + 1]float64
	Total  float64
	Open   bool // the last open row was hit: the years have no upper end
}

func (t *Tally) add(held, within years.Span, hits uint64) {
	if held.To == 0 {
		held = years.Span{From: max(held.From, within.From), To: within.To}
	}
	if held.To == 0 {
		held.To, t.Open = held.From, true
	}
	each := float64(hits) / float64(held.To-held.From+1)
	for y := held.From; y <= held.To; y++ {
		t.weight[y-years.First] += each
		t.Total += each
	}
}

// Each calls f for every segment in which fillings lie, with their number.
func (s *Series) Each(d stamp.Digits, f func(i int, hits uint64)) {
	low, high := d.Ends()
	for i := s.Find(low); i < len(s.Starts) && s.Starts[i] <= high; i++ {
		if hits := d.In(s.Starts[i], s.end(i)); hits > 0 {
			f(i, hits)
		}
	}
}

// Count adds all rows of a series. It returns how many fillings fit the prefix and how many of them stand in
// a row. read is the place of a worn character that was filled in on trial, or -1: a number may not begin
// with a zero that way.
func (t *Tally) Count(serial string, s *Series, within years.Span, read int) (fillings, covered uint64) {
	d, ok := s.Fit(serial)
	if !ok || read == len(serial)-len(d.Text) && serial[read] == '0' && !s.padded {
		return 0, 0
	}
	s.Each(d, func(i int, hits uint64) {
		if g := &s.Segments[i]; g.Held {
			covered += hits
			for _, held := range g.Spans(s.Starts[i]) {
				t.add(held, within, hits)
			}
		}
	})
	return d.All(), covered
}

// Keep drops the years outside a span.
func (t *Tally) Keep(within years.Span) {
	t.Total = 0
	for i := range t.weight {
		y := years.Year(i + years.First)
		if y < within.From || within.To != 0 && y > within.To {
			t.weight[i] = 0
		}
		t.Total += t.weight[i]
	}
	t.Open = t.Open && within.To == 0
}

// Shares returns the years that remain, each with its share.
func (t *Tally) Shares() []Share {
	var out []Share
	for i, w := range t.weight {
		if w > 0 {
			out = append(out, Share{Year: years.Year(i + years.First), Share: w / t.Total})
		}
	}
	return out
}

// Doubt is the entropy of the year times the number of hits: what is still to be learnt, weighed by how
// likely it is.
func (t *Tally) Doubt() float64 {
	d := 0.0
	for _, w := range t.weight {
		if w > 0 {
			d -= w * math.Log2(w/t.Total)
		}
	}
	return d
}

// Share is the part of the possible serials that was made in a year.
type Share struct {
	Year  years.Year `json:"year"`
	Share float64    `json:"share"`
}
