package serials

import (
	"fmt"
	"slices"
	"strings"
)

// evidence reads everything beside the serial and turns it into bounds.
func (t *Tables) evidence(a *Answer, m *maker, q Query) error {
	for _, p := range q.Patents {
		if err := t.patent(a, p); err != nil {
			return err
		}
	}
	for _, y := range q.PatentDates {
		if err := notYet("patent date", y, q.Now); err != nil {
			return err
		}
		if y < minYear || y > maxYear {
			return unreadable("patent date %d is not a year: type four digits, %d to %d", y, minYear, maxYear)
		}
		a.bound(NotBefore, Year(y), fmt.Sprintf("a patent date of %d is on it", y))
	}
	for _, y := range q.Seen {
		if err := notYet("seen", y, q.Now); err != nil {
			return err
		}
		if y < minYear || y > maxYear {
			return unreadable("seen %d is not a year: type four digits, %d to %d", y, minYear, maxYear)
		}
		a.bound(NotAfter, Year(y), fmt.Sprintf("it was seen in %d", y))
	}
	if model := strings.TrimSpace(q.Model); model != "" && m != nil {
		m.model(a, model)
	}
	return nil
}

// told takes the year that a person gives for certain. What speaks against it stays in view as notes.
func (a *Answer) told(q Query) error {
	if err := notYet("year-known", q.Told, q.Now); err != nil {
		return err
	}
	if q.Told < minYear || q.Told > maxYear {
		return unreadable("year-known %d is not a year: type four digits, %d to %d", q.Told, minYear, maxYear)
	}
	for _, c := range a.Conflicts {
		a.note("settled by hand: %s", c)
	}
	year := Year(q.Told)
	if one := (span{a.From, a.To}); a.Basis != NoBasis && len(a.Conflicts) == 0 &&
		(year < one.from || one.to != 0 && year > one.to) {
		a.note("all else would say %s", a.Estimate.Year())
	}
	a.Conflicts, a.spans = nil, nil
	a.Estimate = Estimate{year, year, year, Told}
	a.note("%d is known: %s", year, q.Because)
	return nil
}

func notYet(field string, year, now int) error {
	if now != 0 && year > now {
		return unreadable("%s %d is yet to come: type a year up to %d", field, year, now)
	}
	return nil
}

// apart bounds the years by the register that a model belongs to.
func (a *Answer) apart(r *register) {
	reason := fmt.Sprintf("model %s has numbers of its own: %s (%s:%d)", r.Model, r.Name, r.File, r.Line)
	if r.From != 0 {
		a.bound(NotBefore, r.From, reason)
	}
	if r.To != 0 {
		a.bound(NotAfter, r.To, reason)
	}
	if r.Note != "" {
		a.note("the table notes: %s", r.Note)
	}
	if r.Source != "" {
		a.sources = append(a.sources, r.Source)
	}
}

func (a *Answer) bound(kind string, year Year, reason string) {
	a.Bounds = append(a.Bounds, Bound{Kind: kind, Year: year, Reason: reason})
}

// model bounds the years by the rows that name the model.
func (m *maker) model(a *Answer, model string) {
	var years span
	var rows []Row
	key := MakerKey(model)
	for _, r := range m.rows {
		if r.Model == "" || r.Model != model && (key == "" || MakerKey(r.Model) != key) {
			continue
		}
		one := span{r.From, r.To}
		if !r.modelOnly && !r.Last.Known {
			s := m.series[r.Prefix]
			one = s.cells[slices.IndexFunc(s.rows,
				func(o Row) bool { return o.File == r.File && o.Line == r.Line })].says(r.First + 1)
		}
		if rows != nil {
			one = one.hull(years)
		}
		years, rows = one, append(rows, r)
	}
	if rows == nil && m.register(model) != nil {
		return
	}
	if rows == nil {
		a.note("no table row names model %s of %s", shown(model), m.name)
		return
	}
	where := fmt.Sprintf("%s:%d", rows[0].File, rows[0].Line)
	if len(rows) > 1 {
		where += fmt.Sprintf(" and %d more rows", len(rows)-1)
	}
	a.bound(NotBefore, years.from,
		fmt.Sprintf("model %s was made from %d (%s)", rows[0].Model, years.from, where))
	if years.to != 0 {
		a.bound(NotAfter, years.to,
			fmt.Sprintf("model %s was made until %d (%s)", rows[0].Model, years.to, where))
	}
}

// limits is what the bounds leave; open where there is none. It is empty (from after to) when they contradict
// each other.
func (a *Answer) limits() (s span) {
	for _, b := range a.Bounds {
		switch {
		case b.Kind == NotBefore:
			s.from = max(s.from, b.Year)
		case s.to == 0 || b.Year < s.to:
			s.to = b.Year
		}
	}
	return s
}

// strictest returns the bound that decides its kind.
func (a *Answer) strictest(kind string) Bound {
	limits := a.limits()
	for _, b := range a.Bounds {
		if b.Kind == kind &&
			(kind == NotBefore && b.Year == limits.from || kind == NotAfter && b.Year == limits.to) {
			return b
		}
	}
	return Bound{}
}

// weigh joins what the serial says with what the other evidence says.
func (a *Answer) weigh(limits span) {
	if len(a.Bounds) == 0 {
		return
	}
	if limits.to != 0 && limits.from > limits.to {
		a.contradict(a.strictest(NotBefore), a.strictest(NotAfter))
		return
	}
	if a.Basis == NoBasis {
		a.settle(limits, Evidence)
		return
	}
	var left []span
	for _, s := range a.spans {
		if both, ok := s.meet(limits); ok {
			left = append(left, both)
		}
	}
	if len(left) == 0 {
		a.againstSerial(limits)
		return
	}
	was := a.Best
	switch a.Basis {
	case Pattern:
		a.settle(hullOf(left), Pattern)
		if a.stray {
			a.Best = 0 // some of what the serial may be stands in no row
		}
	case Overlap:
		a.settle(hullOf(left), Overlap)
		if both, ok := meetAll(left); ok && len(left) < len(a.spans) {
			for _, c := range a.Conflicts {
				a.note("%s; other evidence rules out all but %s", c, countRows(len(left)))
			}
			a.Conflicts = nil
			a.settle(both, Evidence)
		}
	case After, Before:
		years, basis := left[0], a.Basis
		if years.from != 0 && years.to != 0 {
			basis = Evidence // no longer open-ended
		}
		a.settle(years, basis)
	default:
		years := left[0]
		a.settle(years, a.Basis)
		if a.Best == 0 && was != 0 {
			a.Best = min(max(was, years.from), years.to)
		}
	}
}

func countRows(n int) string {
	if n == 1 {
		return "one"
	}
	return fmt.Sprintf("%d that agree", n)
}

// settle sets the years; a single year is the best.
func (a *Answer) settle(years span, basis Basis) {
	a.Estimate = Estimate{From: years.from, To: years.to, Basis: basis}
	if years.from == years.to {
		a.Best = years.from
	}
}

// againstSerial states which bound the serial contradicts, and sets the serial's own bound beside it.
func (a *Answer) againstSerial(limits span) {
	all := hullOf(a.spans)
	reason := fmt.Sprintf("serial %s by the tables", a.Serial)
	low, high := a.strictest(NotBefore), a.strictest(NotAfter)
	switch {
	case limits.from != 0 && all.to != 0 && all.to < limits.from:
		high = Bound{NotAfter, all.to, reason}
		a.Bounds = append(a.Bounds, high)
	case limits.to != 0 && all.from > limits.to:
		low = Bound{NotBefore, all.from, reason}
		a.Bounds = append(a.Bounds, low)
	default: // the years of the serial lie on both sides of what is left
		a.conflict("serial %s has no row for the years from %d to %d, which the other evidence leaves",
			a.Serial, limits.from, limits.to)
	}
	a.contradict(low, high)
}

// contradict withholds the years: one of the two is wrong, and which one is for a person to find out.
func (a *Answer) contradict(low, high Bound) {
	if low.Year > high.Year {
		a.conflict("not before %d (%s), but not after %d (%s): look at both again", low.Year, low.Reason,
			high.Year, high.Reason)
	}
	a.From, a.To, a.Best = 0, 0, 0
	// either may leave every year open, which is no contradiction
	if a.Basis == NoBasis || a.Basis == Pattern {
		a.Basis = Evidence
	}
}
