// Package fit answers whether a sewing-machine head fits a treadle base, what work a fit costs, and what belt
// joins the two.
//
// The bed drops into an opening in the wooden top and turns on two hinge pins that enter sockets in that top.
// So three measures decide whether the head goes in: the length and the width of the opening, each a little
// larger than the bed, and the distance between the pins' centres. Opening and sockets belong to the top and
// not to the iron: where the top can be replaced, a mismatch is work (a new top) instead of an end. The round
// belt needs a groove in the handwheel and one in the flywheel; their diameters give the belt's length and
// the drive ratio.
//
// Every rule answers on its own, with its figures. A measure that is not known makes its rule unknown and is
// never taken as a pass. Everything else that was measured only informs.
package fit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pitman/registry/measure"
	"pitman/registry/stock"
)

// Answer is the answer to a yes-or-no question about a machine; empty means that nobody has looked yet.
type Answer = stock.Answer

const (
	Yes = stock.Yes
	No  = stock.No
)

// Head is what a fit needs to know of a head. A length of zero, or an empty answer, is not known.
type Head struct {
	BedLength, BedWidth measure.Length
	Pins                measure.Length // between the centres of the hinge pins
	Wheel               measure.Length // diameter of the belt groove in the handwheel, at its bottom
	Groove              Answer         // whether the handwheel has a belt groove
	AxisHeight          measure.Length // of the handwheel's axis above the top, head in place
	// BeltOffset is how far the handwheel's groove stands from the plane of the flywheel's groove, or its
	// axis from above the shaft. Not known counts as none: at 600 mm between centres, 20 mm of offset
	// lengthen the belt by less than 1 mm.
	BeltOffset measure.Length
}

// Top says what can be done about the wooden top of a base. Empty counts as fixed.
type Top = stock.Top

const (
	TopFixed       = stock.TopFixed
	TopReplaceable = stock.TopReplaceable
	TopMissing     = stock.TopMissing
)

// Side is where a base's flywheel stands, seen from the stool.
type Side = stock.Side

const (
	SideRight = stock.SideRight
	SideLeft  = stock.SideLeft
)

// Base is what a fit needs to know of a treadle base.
type Base struct {
	OpeningLength, OpeningWidth measure.Length
	Pins                        measure.Length // between the centres of the hinge sockets
	Flywheel                    measure.Length // diameter of the belt groove in the flywheel, at its bottom
	Centre                      measure.Length // measured between the centres of flywheel and handwheel
	ShaftToTop                  measure.Length // from the flywheel's axis up to the top
	// diameter of the belt that the grooves take; zero: the house's belt
	Belt measure.Length
	Side Side
	Top  Top
}

// House is what a house allows, what it offers to do, and what that costs in minutes.
type House struct {
	Pins                       measure.Length // how far the pins' centres may differ, either way
	ClearanceMin, ClearanceMax measure.Length // opening minus bed, in total along each axis
	// A strip fills a clearance up to PackingMax, and new sockets are drilled for pins that differ up to
	// DrillMax. Zero: the house does not offer it, and the mismatch stands.
	PackingMax, DrillMax                                   measure.Length
	SwapWheelMinutes, PackingMinutes, DrillMinutes, NewTop int
	Belt                                                   measure.Length // diameter of the belt in stock
	// added to the belt for its joint; negative for leather that stretches
	Joint measure.Length
}

// Verdict sums the rules up.
type Verdict string

const (
	Fits        Verdict = "yes"
	WithWork    Verdict = "with-work"
	FitsNot     Verdict = "no"
	NotMeasured Verdict = "unknown"
)

// Outcome is what one rule says.
type Outcome string

const (
	Pass     Outcome = "pass"
	PassWork Outcome = "with-work"
	Fail     Outcome = "fail"
	Unknown  Outcome = "unknown"
)

// Rule is one rule's answer with its figures. Head and Base hold a length, an answer, or nil where that side
// has no say.
type Rule struct {
	Rule   string  `json:"rule"`
	Result Outcome `json:"result"`
	Head   any     `json:"head"`
	Base   any     `json:"base"`
	Limit  string  `json:"limit"`
	Unit   string  `json:"unit"`
	Why    string  `json:"why"` // one sentence for a person
}

// Job is one piece of work that makes a head fit.
type Job struct {
	Name    string `json:"job"`
	Minutes int    `json:"minutes"`
}

// NewTop holds the measures to which a new top is cut for a head.
type NewTop struct {
	OpeningLength measure.Length `json:"opening_length_mm"`
	OpeningWidth  measure.Length `json:"opening_width_mm"`
	Pins          measure.Length `json:"pins_mm"`
}

// Result is the whole answer for one head and one base.
type Result struct {
	Fits        Verdict `json:"fits"`
	WorkMinutes int     `json:"work_minutes"`
	Work        []Job   `json:"work"`
	Rules       []Rule  `json:"rules"`
	NewTop      *NewTop `json:"new_top,omitempty"`
	Drive
	Notes []string `json:"notes"`

	score Score
}

// Unknowns counts the rules that want measuring.
func (r Result) Unknowns() (n int) {
	for _, rule := range r.Rules {
		if rule.Result == Unknown {
			n++
		}
	}
	return n
}

// Misses lists the sentences of the rules that keep the head from fitting: what fails or, if nothing does,
// what to measure.
func (r Result) Misses() []string {
	var failed, unknown []string
	for _, rule := range r.Rules {
		switch rule.Result {
		case Fail:
			failed = append(failed, rule.Why)
		case Unknown:
			unknown = append(unknown, rule.Why)
		}
	}
	if len(failed) > 0 {
		return failed
	}
	return unknown
}

// InShort says in one line what keeps the head from fitting: what fails, with its figures, or else what
// nobody has measured.
func (r Result) InShort() string {
	misses := r.Misses()
	if len(misses) == 0 || r.Fits == FitsNot {
		return strings.Join(misses, "; ")
	}
	var todo []string
	add := func(unknown bool, name string) {
		if unknown && !slices.Contains(todo, name) {
			todo = append(todo, name)
		}
	}
	for _, rule := range r.Rules {
		if rule.Result != Unknown {
			continue
		}
		name := measured[rule.Rule]
		add(rule.Head == measure.Length(0) || rule.Rule == "groove", name.head)
		add(rule.Base == measure.Length(0), name.base)
	}
	return "worth measuring: " + strings.Join(todo, ", ")
}

// measured names what each rule needs of a head and of a base.
var measured = map[string]struct{ head, base string }{
	"opening-length": {"bed", "opening"},
	"opening-width":  {"bed", "opening"},
	"pins":           {"hinge pins", "hinge sockets"},
	"groove":         {head: "belt groove"},
	"wheel":          {head: "handwheel"},
	"flywheel":       {base: "flywheel"},
}

// Score is a fit by its figures alone, without sentences: enough to choose among thousands.
type Score struct {
	Fits    Verdict
	Minutes int
	Excess  measure.Length // by how much the failing measures miss their limits, in total
	Unknown int            // measures that somebody has to take
}

// Usable says whether the head fits, be it with work.
func (s Score) Usable() bool { return s.Fits == Fits || s.Fits == WithWork }

// Compare ranks scores for a list of candidates: fits first, then the least work, then what is worth
// measuring, and last the misfits, nearest first.
func (s Score) Compare(o Score) int {
	return cmp.Or(
		cmp.Compare(s.Fits.rank(), o.Fits.rank()),
		cmp.Compare(s.Minutes, o.Minutes),
		cmp.Compare(s.Excess, o.Excess),
		cmp.Compare(s.Unknown, o.Unknown),
	)
}

// rank is where the verdict stands in a ranking. One failing rule decides; after that, what is not known
// must not pass for a fit.
func (v Verdict) rank() int {
	switch v {
	case Fits:
		return 0
	case WithWork:
		return 1
	case NotMeasured:
		return 2
	}
	return 3
}

// Judge holds a head against a base by the rules of a house, and gives the figures alone.
func Judge(h Head, b Base, house House) Score {
	score, _, _ := judge(&h, &b, &house)
	return score
}

// judge also returns what the rules of the top found, and all the work.
func judge(h *Head, b *Base, house *House) (score Score, gauges topGauges, work []Job) {
	gauges = gaugeTop(h, b, house)
	work = gauges.mended(b.Top, house)
	score.Fits = Fits
	is := func(v Verdict) {
		if v.rank() > score.Fits.rank() {
			score.Fits = v
		}
	}
	for _, g := range gauges {
		switch {
		case g.result == Unknown:
			score.Unknown++
		case g.result == Fail && len(work) == 0:
			is(FitsNot)
			score.Excess += g.excess
		case g.result != Pass:
			is(WithWork)
		}
	}
	switch h.Groove {
	case Yes:
	case No:
		is(WithWork)
		work = append(work, Job{JobSwapWheel, house.SwapWheelMinutes})
	default:
		score.Unknown++
	}
	for _, needed := range [2]measure.Length{h.Wheel, b.Flywheel} {
		if !needed.Known() {
			score.Unknown++
		}
	}
	if score.Unknown > 0 {
		is(NotMeasured)
	}
	if !score.Usable() {
		return score, gauges, nil
	}
	for _, job := range work {
		score.Minutes += job.Minutes
	}
	return score, gauges, work
}

const JobSwapWheel = "swap handwheel"

// Check holds a head against a base by the rules of a house, and says for each what it found.
func Check(h Head, b Base, house House) Result {
	score, gauges, work := judge(&h, &b, &house)
	r := Result{Fits: score.Fits, WorkMinutes: score.Minutes, Work: append([]Job{}, work...), score: score}
	top := gauges.mended(b.Top, &house)
	r.Rules = append(topRules(&h, &b, &house, gauges, top), grooveRule(h),
		knownRule("wheel", h.Wheel, nil, "the diameter of the handwheel's groove"),
		knownRule("flywheel", nil, b.Flywheel, "the diameter of the flywheel's groove"))
	if score.Usable() && len(top) > 0 && top[0].Name == JobNewTop {
		r.NewTop = cutFor(&h, &house)
	}
	r.Drive, r.Notes = drive(h, b, house)
	return r
}

// Compare ranks results as their scores.
func Compare(a, b Result) int { return a.score.Compare(b.score) }

func grooveRule(h Head) Rule {
	rule := Rule{Rule: "groove", Limit: string(Yes)}
	switch h.Groove {
	case Yes:
		rule.Result, rule.Head = Pass, Yes
		rule.Why = "the handwheel has a belt groove"
	case No:
		rule.Result, rule.Head = PassWork, No
		rule.Why = "the handwheel has no belt groove: swap it for one that has, and give that groove's " +
			"diameter"
	default:
		rule.Result = Unknown
		rule.Why = "not known whether the handwheel has a belt groove: look and record it"
	}
	return rule
}

// knownRule passes when a measure that has no limit of its own is known, because the belt depends on it.
func knownRule(name string, head, base any, what string) Rule {
	rule := Rule{Rule: name, Result: Pass, Head: head, Base: base, Limit: "known", Unit: "mm"}
	for _, side := range []any{head, base} {
		length, ok := side.(measure.Length)
		if !ok {
			continue
		}
		rule.Why = fmt.Sprintf("%s is %s", what, length)
		if !length.Known() {
			rule.Result = Unknown
			rule.Why = what + " is not known: measure it"
		}
	}
	return rule
}
