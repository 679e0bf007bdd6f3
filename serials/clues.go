package serials

import (
	"fmt"
	"strconv"
	"strings"

	"pitman/serials/years"
)

// Clue is a row of a table of marks: a badge, a decal, an address, a casting date or a mechanism was in use
// in these years. A clue says which years are likelier; it never removes one.
type Clue struct {
	Maker       string  `json:"maker"` // empty for every maker
	Mark        string  `json:"mark"`
	From        Year    `json:"from"` // unknown: as early as any
	To          Year    `json:"to"`   // unknown: as late as any
	Part        string  `json:"part"`
	Reliability float64 `json:"reliability"` // how often such a mark says right
	Source      string  `json:"source"`
	Note        string  `json:"note"`
	File        string  `json:"file"`
	Line        int     `json:"line"`
}

// Production is the mark that every machine of a maker bears: it was made while the maker made machines.
const Production = "production"

const (
	usualReliability = 0.8  // where a table gives none; common practice, no source
	mostReliable     = 0.98 // nothing that is seen on a machine rules a year out
	allMakers        = "(all makers)"
)

func clueRow(p *reader, line int, f []string) {
	c := Clue{Maker: f[0], Mark: f[1], Part: f[4], Reliability: usualReliability, Source: f[6], Note: f[7],
		File: p.table.Name, Line: line}
	if c.Maker == allMakers {
		c.Maker = ""
	} else if MakerKey(c.Maker) == "" {
		p.fault(line, Missing, "the row has no maker: type the maker's name, or %s", allMakers)
		return
	}
	if MakerKey(c.Mark) == "" {
		p.fault(line, Missing,
			"mark is empty: type what is to be seen on the machine, such as: badge, round, red")
		return
	}
	s, ok := p.span(line, f[2], f[3])
	switch {
	case !ok && (f[2] != "" || f[3] != ""):
		return
	case s == (span{}):
		p.fault(line, BadYear, "from and to are both empty: type the first or the last year of the mark")
		return
	}
	c.From, c.To = s.from, s.to
	if f[5] != "" {
		n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(f[5], "%")), 64)
		if strings.HasSuffix(f[5], "%") {
			n /= 100
		}
		if err != nil || !(0 < n && n <= 1) {
			p.fault(line, BadNumber,
				"reliability %s is not a share: type a number above 0 and up to 1, such as 0.8, or a "+
					"percentage such as 80 %%", shown(f[5]))
			return
		}
		c.Reliability = min(n, mostReliable)
	}
	p.table.Clues = append(p.table.Clues, c)
}

// Years is the clue's years as a table row says them.
func (c Clue) Years() string { return Estimate{From: c.From, To: c.To, Basis: Evidence}.Year() }

// Clues returns the marks that can be seen on this maker's machines, the maker's own first.
func (t *Tables) Clues(maker string) (own []Clue) {
	var general []Clue
	m := t.maker(maker)
	key := MakerKey(maker)
	for _, c := range t.clues {
		switch k := MakerKey(c.Maker); {
		case c.Mark == Production:
		case c.Maker == "":
			general = append(general, c)
		case k == key, m != nil && t.maker(c.Maker) == m:
			own = append(own, c)
		}
	}
	return append(own, general...)
}

// clueOf finds the marks that are meant by what was typed: the mark itself, or words that only one of them
// begins with or has.
func (t *Tables) clueOf(maker, typed string) (found []Clue) {
	key := MakerKey(typed)
	all := t.Clues(maker)
	for _, fits := range []func(mark string) bool{
		func(mark string) bool { return mark == key },
		func(mark string) bool { return strings.HasPrefix(mark, key) },
		func(mark string) bool { return strings.Contains(mark, key) },
	} {
		for _, c := range all {
			if key != "" && fits(MakerKey(c.Mark)) {
				found = append(found, c)
			}
		}
		if found != nil {
			return found
		}
	}
	return nil
}

// gather collects the clues of a query and tells each. The same mark counts once.
func (t *Tables) gather(a *Answer, q Query) {
	seen := map[string]bool{}
	take := func(c Clue) {
		key := fmt.Sprintf("%s %d %d", MakerKey(c.Mark), c.From, c.To)
		if !seen[key] {
			seen[key] = true
			a.clues = append(a.clues, c)
		}
	}
	m, key := t.maker(q.Maker), MakerKey(q.Maker)
	for _, c := range t.clues {
		if len(a.spans) > 0 {
			break // a row answers for the number, and says more
		}
		if c.Mark == Production && key != "" &&
			(MakerKey(c.Maker) == key || m != nil && t.maker(c.Maker) == m) {
			take(c)
		}
	}
	for _, typed := range q.Clues {
		found := t.clueOf(q.Maker, typed)
		marks := map[string]bool{}
		var names []string
		for _, c := range found {
			if k := MakerKey(c.Mark); !marks[k] {
				marks[k] = true
				names = append(names, c.Mark)
			}
		}
		switch {
		case len(names) == 0:
			a.note("clue %s is in no table of marks, so it says nothing%s", shown(typed), t.marksOf(q.Maker))
		case len(names) > 1:
			a.note("clue %s can be %s: say which; until then it says nothing", shown(typed),
				someOf(names, 10))
		default:
			for _, c := range found {
				take(c)
			}
		}
	}
}

func (t *Tables) marksOf(maker string) string {
	var names []string
	for _, c := range t.Clues(maker) {
		names = addNew(names, c.Mark)
	}
	if names == nil {
		return ""
	}
	return "; there are " + someOf(names, 10)
}

// String tells the clue to a person.
func (c Clue) String() string {
	what := "clue " + c.Mark
	if c.Mark == Production {
		what = c.Maker + " made machines"
	}
	if c.Part != "" {
		what += " on the " + c.Part
	}
	return fmt.Sprintf("%s: %s, right in about %.0f of 100 (%s:%d)", what, c.Years(), c.Reliability*100,
		c.File, c.Line)
}

// hint weighs the years by the clues: a year outside a mark's own is as likely as such marks are wrong. What
// has no year stands for as many years as the clues themselves reach over. With no other evidence the clues'
// own years are all there is to choose from.
func (a *Answer) hint(mass *years.Mass, limits span) {
	if len(a.clues) == 0 {
		return
	}
	reach, closed := span{}, false
	for _, c := range a.clues {
		if one := (span{c.From, c.To}); one.from != 0 && one.to != 0 {
			if closed {
				one = one.hull(reach)
			}
			reach, closed = one, true
		}
	}
	both, fits := reach.meet(limits)
	if mass.Outside() > 0 && closed && fits {
		both.from, both.to = max(both.from, a.From), lower(both.to, a.To)
		if both.from <= both.to {
			share := mass.Outside() / 2
			mass.Low, mass.High, mass.Undecidable = mass.Low/2, mass.High/2, mass.Undecidable/2
			mass.Even(int(both.from), int(both.to), share)
		}
	}
	wrong := 1.0
	for _, c := range a.clues {
		wrong *= 1 - min(c.Reliability, mostReliable)
	}
	mass.Weigh(func(year int) float64 {
		l := 1.0
		for _, c := range a.clues {
			if y := Year(year); y < c.From || c.To != 0 && y > c.To {
				l *= 1 - min(c.Reliability, mostReliable)
			}
		}
		return l
	}, wrong)
}

func lower(a, b Year) Year {
	if b == 0 {
		return a
	}
	return min(a, b)
}
