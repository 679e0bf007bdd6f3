package match

import "slices"

// dear is the day on which a dear piece came in, where each other one came on day 0: no number of pieces
// outweighs one more that is dear.
const dear = limit / 2

// Dear says which heads and bases a plan should do without.
type Dear struct{ Head, Base func(int) bool }

// Fewest finds, among the plans that fill as much by number, priority and due date, one that uses the fewest
// dear pieces; work and days in stock count for nothing in it. It is the same search with other days, so it
// is proved as that is. least is how many no plan does without.
func Fewest(p Problem, pins []Pin, is Dear) (plan Plan, ok bool, used, least int, err error) {
	q := p
	q.Heads, q.Bases = slices.Clone(p.Heads), slices.Clone(p.Bases)
	day := func(yes bool) int {
		if yes {
			return dear
		}
		return 0
	}
	for i := range q.Heads {
		q.Heads[i].Arrived, q.Heads[i].Donation = day(is.Head(i)), ""
	}
	for i := range q.Bases {
		q.Bases[i].Arrived, q.Bases[i].Donation = day(is.Base(i)), ""
	}
	q.Work = func(head, base int) (int, bool) {
		_, fits := p.Work(head, base)
		return 0, fits
	}
	plan, ok, err = SolvePinned(q, pins)
	if err != nil || !ok {
		return plan, ok, 0, 0, err
	}
	for _, set := range slices.Concat(plan.Sets...) {
		if is.Head(set.Head) {
			used++
		}
		if set.Base >= 0 && is.Base(set.Base) {
			used++
		}
	}
	switch {
	case plan.Optimal:
		least = used
	case plan.Gap.Rank == "days in stock":
		least = max(0, used-int((plan.Gap.Amount+dear/2)/dear))
	}
	return plan, true, used, least, nil
}

// FillsAsMuch says whether one plan fills as many places as another by number, priority and due date.
func (p Problem) FillsAsMuch(a, b Plan) bool { return slices.Equal(p.fills(a), p.fills(b)) }

// fills is how many places a plan fills, then by priority, then by due date; larger is better.
func (p Problem) fills(plan Plan) []int {
	priorities, dues := p.priorities(), p.dues()
	byPriority, byDue := make([]int, len(priorities)), make([]int, len(dues))
	for line, list := range plan.Sets {
		byPriority[slices.Index(priorities, -p.Lines[line].Priority)] += len(list)
		byDue[slices.Index(dues, p.Lines[line].Due)] += len(list)
	}
	return slices.Concat([]int{plan.Filled}, byPriority, byDue)
}

func (p Problem) priorities() (list []int) {
	for _, l := range p.Lines {
		list = append(list, -l.Priority)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

func (p Problem) dues() (list []int) {
	for _, l := range p.Lines {
		list = append(list, l.Due)
	}
	slices.Sort(list)
	return slices.Compact(list)
}
