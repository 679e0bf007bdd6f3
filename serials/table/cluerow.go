package table

import (
	"fmt"
	"strconv"
	"strings"

	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// Clue is a row of a table of marks: a badge, a decal, an address, a casting date or a mechanism was in use
// in these years. A clue says which years are likelier; it never removes one.
type Clue struct {
	Maker       string     `json:"maker"` // empty for every maker
	Mark        string     `json:"mark"`
	From        years.Year `json:"from"` // unknown: as early as any
	To          years.Year `json:"to"`   // unknown: as late as any
	Part        string     `json:"part"`
	Reliability float64    `json:"reliability"` // how often such a mark says right
	Source      string     `json:"source"`
	Note        string     `json:"note"`
	File        string     `json:"file"`
	Line        int        `json:"line"`
}

// Production is the mark that every machine of a maker bears: it was made while the maker made machines.
const Production = "production"

const (
	usualReliability = 0.8  // where a table gives none; common practice, no source
	MaxReliability   = 0.98 // nothing that is seen on a machine rules a year out
	allMakers        = "(all makers)"
)

func clueRow(p *reader, line int, f []string) {
	c := Clue{Maker: f[0], Mark: f[1], Part: f[4], Reliability: usualReliability, Source: f[6], Note: f[7],
		File: p.table.Name, Line: line}
	if c.Maker == allMakers {
		c.Maker = ""
	} else if names.MakerKey(c.Maker) == "" {
		p.fault(line, Missing, "the row has no maker: type the maker's name, or %s", allMakers)
		return
	}
	if names.MakerKey(c.Mark) == "" {
		p.fault(line, Missing,
			"mark is empty: type what is to be seen on the machine, such as: badge, round, red")
		return
	}
	s, ok := p.span(line, f[2], f[3])
	switch {
	case !ok && (f[2] != "" || f[3] != ""):
		return
	case s == (years.Span{}):
		p.fault(line, BadYear, "from and to are both empty: type the first or the last year of the mark")
		return
	}
	c.From, c.To = s.From, s.To
	if f[5] != "" {
		n, ok := p.share(line, "reliability", f[5])
		if !ok {
			return
		}
		c.Reliability = min(n, MaxReliability)
	}
	p.table.Clues = append(p.table.Clues, c)
}

// share reads how much of a whole, or names what is none.
func (p *reader) share(line int, column, typed string) (float64, bool) {
	n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(typed, "%")), 64)
	if strings.HasSuffix(typed, "%") {
		n /= 100
	}
	if err != nil || !(0 < n && n <= 1) {
		p.fault(line, BadNumber,
			"%s %s is not a share: type a number above 0 and up to 1, such as 0.8, or a percentage such as "+
				"80 %%", column, stamp.Quoted(typed))
		return 0, false
	}
	return n, true
}

// Years is the clue's years as a table row says them.
func (c Clue) Years() string {
	return years.Estimate{From: c.From, To: c.To, Basis: years.Evidence}.Year()
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
