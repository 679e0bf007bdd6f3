package fit

import (
	"fmt"

	"pitman/registry/measure"
)

const (
	JobPacking = "packing strip"
	JobDrill   = "drill new hinge sockets"
	JobNewTop  = "new top"
)

// gauge is what one rule finds by its figures alone: how far outside its limit a measure is, and which small
// job, if the house offers one for so much, would put it right.
type gauge struct {
	result Outcome
	excess measure.Length
	mend   string
}

// topGauges are the rules of opening length, opening width and hinge pins.
type topGauges [3]gauge

// gaugeTop holds a head against the top of a base. A missing top has no measures: the head's own are all that
// a new one needs.
func gaugeTop(h *Head, b *Base, house *House) topGauges {
	if b.Top == TopMissing {
		var g topGauges
		for i, own := range [3]measure.Length{h.BedLength, h.BedWidth, h.Pins} {
			if g[i].result = PassWork; !own.Known() {
				g[i].result = Unknown
			}
		}
		return g
	}
	return topGauges{
		gaugeClearance(h.BedLength, b.OpeningLength, house),
		gaugeClearance(h.BedWidth, b.OpeningWidth, house),
		gaugePins(h.Pins, b.Pins, house),
	}
}

// gaugeClearance holds one axis of the bed against the same axis of the opening; the clearance counts both
// sides together.
func gaugeClearance(bed, opening measure.Length, house *House) gauge {
	if !bed.Known() || !opening.Known() {
		return gauge{result: Unknown}
	}
	switch gap := opening - bed; {
	case gap < house.ClearanceMin:
		return gauge{result: Fail, excess: house.ClearanceMin - gap}
	case gap > house.ClearanceMax:
		g := gauge{result: Fail, excess: gap - house.ClearanceMax}
		if gap <= house.PackingMax {
			g.mend = JobPacking
		}
		return g
	}
	return gauge{result: Pass}
}

func gaugePins(head, base measure.Length, house *House) gauge {
	if !head.Known() || !base.Known() {
		return gauge{result: Unknown}
	}
	off := max(head-base, base-head)
	if off <= house.Pins {
		return gauge{result: Pass}
	}
	g := gauge{result: Fail, excess: off - house.Pins}
	if off <= house.DrillMax {
		g.mend = JobDrill
	}
	return g
}

// mended says what work puts every failing rule right: small jobs where each has one and they cost less than
// a new top, or else a new top, which mends all three at once. It is none when nothing fails, or when what
// fails has to stay so.
func (g topGauges) mended(top Top, house *House) (work []Job) {
	if top == TopMissing {
		return []Job{{JobNewTop, house.NewTop}}
	}
	failing, mendable, strip, drill := 0, 0, false, false
	for _, one := range g {
		if one.result != Fail {
			continue
		}
		failing++
		if one.mend != "" {
			mendable++
		}
		strip = strip || one.mend == JobPacking
		drill = drill || one.mend == JobDrill
	}
	minutes := 0
	if strip {
		work, minutes = append(work, Job{JobPacking, house.PackingMinutes}), minutes+house.PackingMinutes
	}
	if drill {
		work, minutes = append(work, Job{JobDrill, house.DrillMinutes}), minutes+house.DrillMinutes
	}
	switch {
	case failing == 0:
		return nil
	case mendable == failing && (top != TopReplaceable || minutes <= house.NewTop):
		return work
	case top == TopReplaceable:
		return []Job{{JobNewTop, house.NewTop}}
	}
	return nil
}

// topRules says for people what the gauges of the top found; work is what mends those that fail.
func topRules(h *Head, b *Base, house *House, gauges topGauges, work []Job) []Rule {
	rules := make([]Rule, 0, 6)
	for i, m := range [3]struct {
		rule, what, own, other string
		head, base             measure.Length
	}{
		{"opening-length", "opening length", "bed", "opening", h.BedLength, b.OpeningLength},
		{"opening-width", "opening width", "bed", "opening", h.BedWidth, b.OpeningWidth},
		{"pins", "pin centres", "head", "base", h.Pins, b.Pins},
	} {
		g := gauges[i]
		rule := Rule{Rule: m.rule, Result: g.result, Head: m.head, Base: m.base, Unit: "mm"}
		switch {
		case b.Top == TopMissing:
			rule.Base, rule.Limit = nil, "known"
			rule.Why = fmt.Sprintf("%s: %s %s, the base has no top; with work: %s", m.what, m.own, m.head,
				JobNewTop)
			if g.result == Unknown {
				rule.Why = fmt.Sprintf("%s: %s not known: measure it, a new top is cut to it", m.what, m.own)
			}
			rules = append(rules, rule)
			continue
		case m.rule == "pins":
			rule.Limit = "± " + number(house.Pins)
		default:
			rule.Limit = fmt.Sprintf("%s to %s", number(house.ClearanceMin), number(house.ClearanceMax))
		}
		if g.result == Unknown {
			rule.Why = notKnown(m.what, m.own, m.head, m.other, m.base)
			rules = append(rules, rule)
			continue
		}
		clearance := ""
		if m.rule != "pins" {
			clearance = fmt.Sprintf(", clearance %s mm", number(m.base-m.head))
		}
		rule.Why = fmt.Sprintf("%s: %s %s, %s %s%s, limit %s mm", m.what, m.own, m.head, m.other, m.base,
			clearance, rule.Limit)
		if g.result == Fail {
			rule.Why += fmt.Sprintf(": %s mm %s", number(g.excess), outside(m.rule, m.base-m.head, house))
			if len(work) > 0 {
				rule.Result = PassWork
				rule.Why += "; with work: " + mendOf(g, work)
			}
		}
		rules = append(rules, rule)
	}
	return rules
}

func outside(rule string, gap measure.Length, house *House) string {
	switch {
	case rule == "pins":
		return "outside"
	case gap < house.ClearanceMin:
		return "too tight"
	}
	return "too wide"
}

// mendOf is the job that mends one rule: the new top, when that is the work.
func mendOf(g gauge, work []Job) string {
	if work[0].Name == JobNewTop {
		return JobNewTop
	}
	return g.mend
}

// cutFor aims for the middle of what the house allows, so that a saw's width either way still fits.
func cutFor(h *Head, house *House) *NewTop {
	gap := (house.ClearanceMin + house.ClearanceMax) / 2
	return &NewTop{OpeningLength: h.BedLength + gap, OpeningWidth: h.BedWidth + gap, Pins: h.Pins}
}

// notKnown names the side that still has to be measured, or both.
func notKnown(what, a string, la measure.Length, b string, lb measure.Length) string {
	switch {
	case !la.Known() && !lb.Known():
		return fmt.Sprintf("%s: neither %s nor %s is known: measure both", what, a, b)
	case !la.Known():
		return fmt.Sprintf("%s: %s %s, %s not known: measure it", what, b, lb, a)
	}
	return fmt.Sprintf("%s: %s %s, %s not known: measure it", what, a, la, b)
}

// number writes a length in millimetres without its unit; unlike Length.String it also writes zero and
// negative clearances.
func number(l measure.Length) string {
	return fmt.Sprintf("%g", l.MM())
}
