// Package power judges how many machines a site can run at once, and for how long, from its inverter,
// battery, panels and mains. Every assumption stands beside the answer: it is a plan for people on the spot,
// and a licensed electrician there decides. Pure.
package power

import (
	"fmt"
	"math"
	"slices"
)

// The figures of the method. Sources, as published by others: margin and the surge of a motor from a worked
// off-grid design of "Electrical Engineering Notes"; depths of discharge from a guide after NREL (National
// Renewable Energy Laboratory); battery and surge rating of an inverter common practice.
const (
	margin        = 1.3  // an inverter and its panels are sized so much above what they carry
	startFactor   = 4    // watts of a motor of unknown make while it starts, beside its nameplate
	surgeFactor   = 2    // what an inverter gives for a moment, beside its rating
	batteryYield  = 0.85 // of what goes into a battery comes out
	leadDepth     = 0.5  // how far a lead-acid battery may be emptied
	lithiumDepth  = 0.8
	usualSunHours = 4.0 // of full sun a day
)

// Site is what a partner has. Nil is not known, nought is none.
type Site struct {
	MainsHours               *float64
	Panel, Inverter, Battery *int
	Lithium                  bool
	SunHours                 *float64
}

// Budget is what a site can do for these machines.
type Budget struct {
	Machines int      `json:"machines"`
	NoPlate  int      `json:"without_watts"` // whose nameplate watts nobody noted
	Running  int      `json:"running_watts"` // of all together
	AtOnce   *int     `json:"at_once"`       // null: not known
	Hours    *float64 `json:"hours_a_day"`   // with so many running
	// where there is mains and an inverter; null: not known
	OffMains    *int     `json:"at_once_without_mains"`
	OffHours    *float64 `json:"hours_without_mains"`
	Says        string   `json:"says"`
	Assumptions []string `json:"assumptions"`
	Missing     []string `json:"missing"`
}

// InverterFor is the rating that these running watts ask for.
func InverterFor(watts float64) float64 { return margin * watts }

// PanelWork is the watt-hours that panels must give for so many that are used.
func PanelWork(wattHours float64) float64 { return margin * wattHours }

// BatteryFor is the ampere-hours that hold so many watt-hours at these volts, emptied to this depth.
func BatteryFor(wattHours, volts, depth float64) float64 {
	return wattHours / (batteryYield * depth * volts)
}

// Of judges a site for machines of these nameplate watts; nought is not known.
func Of(s Site, watts []int) Budget {
	b := Budget{Machines: len(watts), Assumptions: []string{}, Missing: []string{}}
	var known []int
	for _, w := range watts {
		if w == 0 {
			b.NoPlate++
			continue
		}
		known = append(known, w)
		b.Running += w
	}
	slices.SortFunc(known, func(a, c int) int { return c - a }) // the hungriest first: any others run, too
	if b.NoPlate > 0 {
		b.Missing = append(b.Missing, fmt.Sprintf("nameplate watts of %d of %d machines: they are left out",
			b.NoPlate, b.Machines))
	}
	switch {
	case len(known) == 0:
		b.Says = "nothing can be said: no machine's nameplate watts are known"
	case s.Inverter == nil && (s.MainsHours == nil || *s.MainsHours == 0):
		b.Missing = append(b.Missing, "watts of the inverter there")
		b.Says = "nothing can be said before the inverter there is known"
	case s.MainsHours != nil && *s.MainsHours > 0:
		b.onMains(s, known)
	default:
		b.offGrid(s, known)
	}
	return b
}

func (b *Budget) onMains(s Site, known []int) {
	n, hours := len(known), *s.MainsHours
	b.AtOnce, b.Hours = &n, &hours
	b.assume("the circuit there carries %d W, and %d W for a moment as the largest starts", b.Running,
		b.Running+(startFactor-1)*known[0])
	b.Says = fmt.Sprintf("%d of %s may run at once, %.1f h a day while there is mains", n, b.these(), hours)
	if s.Inverter == nil || *s.Inverter == 0 {
		b.assume("only the mains is counted on: no inverter is known there")
		return
	}
	// The hours without mains are another plan, of the same machines.
	without := Budget{Machines: b.Machines, NoPlate: b.NoPlate, Assumptions: []string{}, Missing: []string{}}
	without.offGrid(s, known)
	b.OffMains, b.OffHours = without.AtOnce, without.Hours
	b.Missing = append(b.Missing, without.Missing...)
	for _, said := range without.Assumptions {
		b.assume("without mains, %s", said)
	}
	if without.Hours == nil {
		b.Says += "; without it, " + without.Says
		return
	}
	*without.Hours = math.Min(*without.Hours, 24-hours)
	b.Says += fmt.Sprintf("; without it, %d of %s for %.1f h a day more at most", *without.AtOnce, b.these(),
		*without.Hours)
}

// these are the machines that a plan speaks of: of one without its nameplate watts it says nothing.
func (b *Budget) these() string {
	if b.NoPlate > 0 {
		return fmt.Sprintf("the %d whose watts are known", b.Machines-b.NoPlate)
	}
	return fmt.Sprintf("these %d", b.Machines)
}

func (b *Budget) assume(format string, args ...any) {
	b.Assumptions = append(b.Assumptions, fmt.Sprintf(format, args...))
}

// offGrid finds how many of the hungriest machines the inverter carries, and how long a day's energy lasts.
func (b *Budget) offGrid(s Site, known []int) {
	rating := float64(*s.Inverter)
	b.assume("an inverter of %.0f W carries %.0f W for hours (its rating by %.1f) and %.0f W for a moment "+
		"(%d times its rating; common practice)", rating, rating/margin, margin, surgeFactor*rating,
		surgeFactor)
	b.assume("one machine starts at a time, and takes %d times its nameplate watts as it does", startFactor)
	n, running := 0, 0
	for _, w := range known {
		if InverterFor(float64(running+w)) > rating ||
			float64(running+startFactor*known[0]) > surgeFactor*rating {
			break
		}
		n, running = n+1, running+w
	}
	b.AtOnce = &n
	if n == 0 {
		b.Says = fmt.Sprintf("none of %s may run: the inverter there is too small for %d W and its start",
			b.these(), known[0])
		return
	}
	b.Says = fmt.Sprintf("%d of %s may run at once", n, b.these())
	energy, ok := b.energy(s)
	if !ok {
		b.Says += ", for how long is not known"
		return
	}
	hours := math.Min(24, energy/float64(running))
	b.Hours = &hours
	b.Says += fmt.Sprintf(", %.1f h a day", hours)
}

// energy is the watt-hours of a day: what the panels give, and no more than the battery takes up.
func (b *Budget) energy(s Site) (wattHours float64, ok bool) {
	if s.Panel == nil {
		b.Missing = append(b.Missing, "watts of the panels there")
	}
	if s.Battery == nil {
		b.Missing = append(b.Missing, "watt-hours of the battery there")
	}
	if s.Panel == nil || s.Battery == nil {
		return 0, false
	}
	sun := usualSunHours
	if s.SunHours != nil {
		sun = *s.SunHours
	} else {
		b.assume("%.0f hours of full sun a day (common practice; ask for those of the worst month)", sun)
	}
	depth, kind := leadDepth, "lead-acid, since nobody said another,"
	if s.Lithium {
		depth, kind = lithiumDepth, "lithium"
	}
	given := float64(*s.Panel) * sun / margin
	b.assume("panels of %d W in %.1f h of full sun give %.0f Wh a day (by %.1f for losses)", *s.Panel, sun,
		given,
		margin)
	if *s.Battery == 0 {
		b.assume("no battery: machines run while the sun shines")
		return given, true
	}
	held := float64(*s.Battery) * batteryYield * depth
	b.assume("a battery of %d Wh, %s gives %.0f Wh (%.0f %% of it, and %.0f %% of that comes out); all of a "+
		"day's work goes through it", *s.Battery, kind, held, 100*depth, 100*batteryYield)
	b.assume("nothing else runs there: lamps and telephones come off it")
	return math.Min(given, held), true
}
