package fit

import (
	"fmt"

	"pitman/registry"
)

// topAnswer is what the rules of opening and hinge pins say together: they share the work, because a new top mends all three.
type topAnswer struct {
	rules  []Rule
	work   []Job
	newTop *NewTop
	excess registry.Length
}

// mend is a small job that would put one failing measure right.
type mend struct {
	job    Job
	within bool
}

func checkTop(h Head, b Base, house House) topAnswer {
	if b.Top == TopMissing {
		return missingTop(h, house)
	}
	var a topAnswer
	mends := make([]mend, 0, 3)
	add := func(rule Rule, excess registry.Length, m mend) {
		a.rules = append(a.rules, rule)
		a.excess += excess
		mends = append(mends, m)
	}
	add(clearance("opening-length", "opening length", h.BedLength, b.OpeningLength, house))
	add(clearance("opening-width", "opening width", h.BedWidth, b.OpeningWidth, house))
	add(pins(h.Pins, b.Pins, house))

	small, failing, mendable := map[string]Job{}, 0, true
	for i, rule := range a.rules {
		if rule.Result == Fail {
			failing++
			mendable = mendable && mends[i].within
			small[mends[i].job.Name] = mends[i].job
		}
	}
	if failing == 0 {
		return a
	}
	minutes := 0
	for _, job := range small {
		minutes += job.Minutes
	}
	replaceable := b.Top == TopReplaceable
	var how func(mend) string
	switch {
	case mendable && (!replaceable || minutes <= house.NewTop):
		for _, name := range []string{jobPacking, jobDrill} {
			if job, ok := small[name]; ok {
				a.work = append(a.work, job)
			}
		}
		how = func(m mend) string { return m.job.Name }
	case replaceable:
		a.work = []Job{{jobNewTop, house.NewTop}}
		a.newTop = cutFor(h, house)
		how = func(mend) string { return jobNewTop }
	default:
		return a
	}
	for i := range a.rules {
		if a.rules[i].Result == Fail {
			a.rules[i].Result = PassWork
			a.rules[i].Why += "; with work: " + how(mends[i])
		}
	}
	a.excess = 0
	return a
}

const (
	jobPacking = "packing strip"
	jobDrill   = "drill new hinge sockets"
	jobNewTop  = "new top"
)

// missingTop: there is no opening to measure, so the head's own measures are all that a new top needs.
func missingTop(h Head, house House) topAnswer {
	a := topAnswer{work: []Job{{jobNewTop, house.NewTop}}, newTop: cutFor(h, house)}
	for _, m := range []struct {
		rule, what string
		head       registry.Length
	}{
		{"opening-length", "bed length", h.BedLength},
		{"opening-width", "bed width", h.BedWidth},
		{"pins", "pin centres", h.Pins},
	} {
		rule := Rule{Rule: m.rule, Result: PassWork, Head: m.head, Limit: "known", Unit: "mm",
			Why: fmt.Sprintf("%s: head %s, the base has no top; with work: %s", m.what, m.head, jobNewTop)}
		if !m.head.Known() {
			rule.Result = Unknown
			rule.Why = m.what + " of the head is not known: measure it, a new top is cut to it"
		}
		a.rules = append(a.rules, rule)
	}
	return a
}

// cutFor aims for the middle of what the house allows, so that a saw's width either way still fits.
func cutFor(h Head, house House) *NewTop {
	gap := (house.ClearanceMin + house.ClearanceMax) / 2
	return &NewTop{OpeningLength: h.BedLength + gap, OpeningWidth: h.BedWidth + gap, Pins: h.Pins}
}

// clearance holds one axis of the bed against the same axis of the opening; the clearance counts both sides together.
func clearance(name, what string, bed, opening registry.Length, house House) (Rule, registry.Length, mend) {
	rule := Rule{Rule: name, Head: bed, Base: opening, Unit: "mm",
		Limit: fmt.Sprintf("%s to %s", number(house.ClearanceMin), number(house.ClearanceMax))}
	if missing := notKnown(what, "bed", bed, "opening", opening); missing != "" {
		rule.Result, rule.Why = Unknown, missing
		return rule, 0, mend{}
	}
	gap := opening - bed
	rule.Result = Pass
	rule.Why = fmt.Sprintf("%s: bed %s, opening %s, clearance %s mm, limit %s mm", what, bed, opening, number(gap), rule.Limit)
	switch {
	case gap < house.ClearanceMin:
		rule.Result = Fail
		rule.Why += fmt.Sprintf(": %s mm too tight", number(house.ClearanceMin-gap))
		return rule, house.ClearanceMin - gap, mend{job: Job{jobNewTop, house.NewTop}}
	case gap > house.ClearanceMax:
		rule.Result = Fail
		rule.Why += fmt.Sprintf(": %s mm too wide", number(gap-house.ClearanceMax))
		return rule, gap - house.ClearanceMax, mend{Job{jobPacking, house.PackingMinutes}, gap <= house.PackingMax}
	}
	return rule, 0, mend{}
}

func pins(head, base registry.Length, house House) (Rule, registry.Length, mend) {
	rule := Rule{Rule: "pins", Head: head, Base: base, Limit: "± " + number(house.Pins), Unit: "mm"}
	if missing := notKnown("pin centres", "head", head, "base", base); missing != "" {
		rule.Result, rule.Why = Unknown, missing
		return rule, 0, mend{}
	}
	off := max(head-base, base-head)
	rule.Result = Pass
	rule.Why = fmt.Sprintf("pin centres: head %s, base %s, limit %s mm", head, base, rule.Limit)
	if off <= house.Pins {
		return rule, 0, mend{}
	}
	rule.Result = Fail
	rule.Why += fmt.Sprintf(": %s mm outside", number(off-house.Pins))
	return rule, off - house.Pins, mend{Job{jobDrill, house.DrillMinutes}, off <= house.DrillMax}
}

// notKnown names the side that still has to be measured, or both.
func notKnown(what, a string, la registry.Length, b string, lb registry.Length) string {
	switch {
	case !la.Known() && !lb.Known():
		return fmt.Sprintf("%s: neither %s nor %s is known: measure both", what, a, b)
	case !la.Known():
		return fmt.Sprintf("%s: %s %s, %s not known: measure it", what, b, lb, a)
	case !lb.Known():
		return fmt.Sprintf("%s: %s %s, %s not known: measure it", what, a, la, b)
	}
	return ""
}

// number writes a length in millimetres without its unit; unlike Length.String it also writes zero and negative clearances.
func number(l registry.Length) string {
	return fmt.Sprintf("%g", l.MM())
}
