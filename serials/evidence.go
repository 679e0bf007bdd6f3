package serials

import (
	"fmt"
	"slices"
	"strings"

	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// evidence reads everything beside the serial and turns it into bounds.
func (t *Tables) evidence(a *Answer, m *maker, q Query) error {
	for _, p := range q.Patents {
		found, err := t.patents.Find(p)
		switch {
		case err != nil:
			return err
		case found.Binds && found.From != 0:
			a.bound(NotBefore, found.From, found.Reason)
		default:
			a.note("%s", found.Reason)
		}
	}
	for _, y := range q.PatentDates {
		if err := notYet("patent date", y, q.Now); err != nil {
			return err
		}
		if y < years.First || y > years.Last {
			return stamp.Unreadable("patent date %d is not a year: type four digits, %d to %d", y,
				years.First, years.Last)
		}
		a.bound(NotBefore, years.Year(y), fmt.Sprintf("a patent date of %d is on it", y))
	}
	for _, y := range q.Seen {
		if err := notYet("seen", y, q.Now); err != nil {
			return err
		}
		if y < years.First || y > years.Last {
			return stamp.Unreadable("seen %d is not a year: type four digits, %d to %d", y, years.First,
				years.Last)
		}
		a.bound(NotAfter, years.Year(y), fmt.Sprintf("it was seen in %d", y))
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
	if q.Told < years.First || q.Told > years.Last {
		return stamp.Unreadable("year-known %d is not a year: type four digits, %d to %d", q.Told,
			years.First, years.Last)
	}
	for _, c := range a.Conflicts {
		a.note("settled by hand: %s", c)
	}
	year := years.Year(q.Told)
	if one := (years.Span{From: a.From, To: a.To}); a.Basis != years.NoBasis && len(a.Conflicts) == 0 &&
		(year < one.From || one.To != 0 && year > one.To) {
		a.note("all else would say %s", a.Estimate.Year())
	}
	a.Conflicts, a.spans = nil, nil
	a.Estimate = years.Estimate{From: year, To: year, Best: year, Basis: years.Told}
	a.note("%d is known: %s", year, q.Because)
	return nil
}

func notYet(field string, year, now int) error {
	if now != 0 && year > now {
		return stamp.Unreadable("%s %d is yet to come: type a year up to %d", field, year, now)
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

func (a *Answer) bound(kind string, year years.Year, reason string) {
	a.Bounds = append(a.Bounds, Bound{Kind: kind, Year: year, Reason: reason})
}

// model bounds the years by the rows that name the model.
func (m *maker) model(a *Answer, model string) {
	var made years.Span
	var rows []table.Row
	key := names.MakerKey(model)
	for _, r := range m.rows {
		if r.Model == "" || r.Model != model && (key == "" || names.MakerKey(r.Model) != key) {
			continue
		}
		one := years.Span{From: r.From, To: r.To}
		if !r.ModelOnly && !r.Last.Known {
			s := m.series[r.Prefix]
			one = s.Cells[slices.IndexFunc(s.Rows,
				func(o table.Row) bool { return o.File == r.File && o.Line == r.Line })].YearsOf(r.First + 1)
		}
		if rows != nil {
			one = one.Hull(made)
		}
		made, rows = one, append(rows, r)
	}
	if rows == nil && m.register(model) != nil {
		return
	}
	if rows == nil {
		a.note("no table row names model %s of %s", stamp.Quoted(model), m.name)
		return
	}
	where := fmt.Sprintf("%s:%d", rows[0].File, rows[0].Line)
	if len(rows) > 1 {
		where += " and " + counted(len(rows)-1, "more row")
	}
	a.bound(NotBefore, made.From,
		fmt.Sprintf("model %s was made from %d (%s)", rows[0].Model, made.From, where))
	if made.To != 0 {
		a.bound(NotAfter, made.To,
			fmt.Sprintf("model %s was made until %d (%s)", rows[0].Model, made.To, where))
	}
}

// limits is what the bounds leave; open where there is none. It is empty (from after to) when they contradict
// each other.
func (a *Answer) limits() (s years.Span) {
	for _, b := range a.Bounds {
		switch {
		case b.Kind == NotBefore:
			s.From = max(s.From, b.Year)
		case s.To == 0 || b.Year < s.To:
			s.To = b.Year
		}
	}
	return s
}

// strictest returns the bound that decides its kind.
func (a *Answer) strictest(kind string) Bound {
	limits := a.limits()
	for _, b := range a.Bounds {
		if b.Kind == kind &&
			(kind == NotBefore && b.Year == limits.From || kind == NotAfter && b.Year == limits.To) {
			return b
		}
	}
	return Bound{}
}

// weigh joins what the serial says with what the other evidence says.
func (a *Answer) weigh(limits years.Span) {
	if len(a.Bounds) == 0 {
		return
	}
	if limits.To != 0 && limits.From > limits.To {
		a.contradict(a.strictest(NotBefore), a.strictest(NotAfter))
		return
	}
	if a.Basis == years.NoBasis {
		a.settle(limits, years.Evidence)
		return
	}
	var left []years.Span
	for _, s := range a.spans {
		if both, ok := s.Meet(limits); ok {
			left = append(left, both)
		}
	}
	if len(left) == 0 {
		a.againstSerial(limits)
		return
	}
	was := a.Best
	switch a.Basis {
	case years.Pattern:
		a.settle(years.HullOf(left), years.Pattern)
		if a.stray {
			a.Best = 0 // some of what the serial may be stands in no row
		}
	case years.Overlap:
		a.settle(years.HullOf(left), years.Overlap)
		if both, ok := years.MeetAll(left); ok && len(left) < len(a.spans) {
			for _, c := range a.Conflicts {
				a.note("%s; other evidence rules out all but %s", c, countRows(len(left)))
			}
			a.Conflicts = nil
			a.settle(both, years.Evidence)
		}
	case years.After, years.Before:
		made, basis := left[0], a.Basis
		if made.From != 0 && made.To != 0 {
			basis = years.Evidence // no longer open-ended
		}
		a.settle(made, basis)
	default:
		made := left[0]
		a.settle(made, a.Basis)
		if a.Best == 0 && was != 0 {
			a.Best = min(max(was, made.From), made.To)
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
func (a *Answer) settle(made years.Span, basis years.Basis) {
	a.Estimate = years.Estimate{From: made.From, To: made.To, Basis: basis}
	if made.From == made.To {
		a.Best = made.From
	}
}

// againstSerial states which bound the serial contradicts, and sets the serial's own bound beside it.
func (a *Answer) againstSerial(limits years.Span) {
	all := years.HullOf(a.spans)
	reason := fmt.Sprintf("serial %s by the tables", a.Serial)
	low, high := a.strictest(NotBefore), a.strictest(NotAfter)
	switch {
	case limits.From != 0 && all.To != 0 && all.To < limits.From:
		high = Bound{NotAfter, all.To, reason}
		a.Bounds = append(a.Bounds, high)
	case limits.To != 0 && all.From > limits.To:
		low = Bound{NotBefore, all.From, reason}
		a.Bounds = append(a.Bounds, low)
	default: // the years of the serial lie on both sides of what is left
		a.conflict("serial %s has no row for the years from %d to %d, which the other evidence leaves",
			a.Serial, limits.From, limits.To)
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
	if a.Basis == years.NoBasis || a.Basis == years.Pattern {
		a.Basis = years.Evidence
	}
}
