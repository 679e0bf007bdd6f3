package match

import (
	"fmt"
	"slices"
)

// Pin is a head that is to stand on one base, whatever else would be better.
type Pin struct{ Head, Base int }

// maxPinned bounds in how many ways pins are given to lines; each way is a plan of its own.
const maxPinned = 400

// SolvePinned finds the best plan among those in which every pin fills a place. It gives the pins to lines in
// every way there is, finds the best plan of the rest for each, and keeps the best: so the proof holds as it
// does for a plan without pins. ok is false where the pins have no places.
func SolvePinned(p Problem, pins []Pin) (plan Plan, ok bool, err error) {
	if len(pins) == 0 {
		plan, err = Solve(p)
		return plan, true, err
	}
	rest := p
	rest.Heads, rest.Bases = slices.Clone(p.Heads), slices.Clone(p.Bases)
	pinned := map[int]bool{}
	for i, pin := range pins {
		if _, fits := p.Work(pin.Head, pin.Base); !fits {
			return plan, false, nil
		}
		rest.Heads[pin.Head].As = 0
		// of a pattern of its own, which fits nothing
		rest.Bases[pin.Base].Pattern = fmt.Sprintf("pinned %d", i)
		pinned[pin.Base] = true
	}
	rest.Work = func(head, base int) (int, bool) {
		if pinned[base] {
			return 0, false
		}
		return p.Work(head, base)
	}
	ways, err := pinWays(p, pins)
	if err != nil {
		return plan, false, err
	}
	var best []int
	optimal, split := true, true
	for _, way := range ways {
		rest.Lines = slices.Clone(p.Lines)
		for _, line := range way {
			rest.Lines[line].Slots--
		}
		one, err := Solve(rest)
		if err != nil {
			return plan, false, err
		}
		optimal, split = optimal && one.Optimal, split && one.SplitProved
		for i, line := range way {
			minutes, _ := p.Work(pins[i].Head, pins[i].Base)
			h, b := p.Heads[pins[i].Head], p.Bases[pins[i].Base]
			one.Sets[line] = append(one.Sets[line],
				Set{Head: pins[i].Head, Base: pins[i].Base, Minutes: minutes,
					Together: h.Donation != "" && h.Donation == b.Donation})
			one.Filled++
			one.Minutes += int64(minutes)
		}
		if worth := worthOf(p, one); best == nil || slices.Compare(worth, best) > 0 {
			plan, best, ok = one, worth, true
		}
	}
	if plan.Optimal, plan.SplitProved = optimal, split; optimal {
		plan.Gap = Gap{}
	}
	return plan, ok, nil
}

// pinWays lists every way to give pins to lines that take them.
func pinWays(p Problem, pins []Pin) (ways [][]int, err error) {
	left := make([]int, len(p.Lines))
	for i, l := range p.Lines {
		left[i] = l.Slots
	}
	way := make([]int, 0, len(pins))
	var give func() error
	give = func() error {
		if len(way) == len(pins) {
			if ways = append(ways, slices.Clone(way)); len(ways) > maxPinned {
				return fmt.Errorf("%d pairs can be given to lines in more than %d ways: pin fewer at once",
					len(pins), maxPinned)
			}
			return nil
		}
		head := pins[len(way)].Head
		for line, l := range p.Lines {
			if l.Kind != Treadle || left[line] == 0 || p.Heads[head].As&Treadle == 0 ||
				p.Allows != nil && !p.Allows(line, head) {
				continue
			}
			left[line]--
			way = append(way, line)
			err := give()
			way = way[:len(way)-1]
			left[line]++
			if err != nil {
				return err
			}
		}
		return nil
	}
	return ways, give()
}

// worthOf is what a plan is worth, rank by rank; larger is better.
func worthOf(p Problem, plan Plan) []int {
	return slices.Concat(p.fills(plan), []int{-int(plan.Minutes)}, newExchange(p, plan.Sets).rank(plan.Sets))
}
