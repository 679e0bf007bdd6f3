package planning

import (
	"context"

	"pitman/registry"
	"pitman/registry/match"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

// Outlook is the proposal for all open orders, and for each drive what it fills and what could fill the rest.
type Outlook struct {
	*Proposal
	Places map[registry.Drive]Places
}

// Places sums up the places of open orders for one drive.
type Places struct {
	Asked    int
	Reserved int
	Proposed int // what stock fills beyond it
	InHand   int // heads on the bench or before their test that a place left empty would take
	Coming   int // more places than now if all of those were ready
	NoBase   int // places left empty even then for which no base is left, however many heads become ready
	Due      string
}

// Empty is how many places stock does not fill.
func (p Places) Empty() int { return p.Asked - p.Reserved - p.Proposed }

// Outlook finds the best plan for all open orders, and then for those heads, too, that are not ready yet.
func (w *Planning) Outlook(ctx context.Context) (*Outlook, error) {
	s, err := w.read(ctx, nil)
	if err != nil {
		return nil, err
	}
	return s.outlook(ctx)
}

func (s *inHand) outlook(ctx context.Context) (*Outlook, error) {
	p, plan, err := s.propose(ctx)
	if err != nil {
		return nil, err
	}
	out := &Outlook{Proposal: p, Places: map[registry.Drive]Places{}}
	later := s.withInHand()
	then := plan
	if len(later.heads) > len(s.heads) && s.empty(plan) > 0 {
		if then, err = match.Solve(later.problem); err != nil {
			return nil, err
		}
	}
	for line, l := range s.lines {
		d := out.Places[l.Wanted.Drive()]
		d.Asked += l.Asked
		d.Reserved += len(s.sets[line])
		d.Proposed += len(plan.Sets[line])
		d.Coming += len(then.Sets[line]) - len(plan.Sets[line])
		if due := s.order[line].Due; l.Asked > len(s.sets[line])+len(plan.Sets[line]) &&
			(d.Due == "" || due < d.Due) {
			d.Due = due
		}
		out.Places[l.Wanted.Drive()] = d
	}
	for drive, d := range out.Places {
		d.Coming = max(0, d.Coming)
		d.InHand = s.takers(plan, drive)
		if drive == registry.Treadle {
			d.NoBase = max(0, d.Empty()-d.Coming-basesLeft(later.problem, then))
		}
		out.Places[drive] = d
	}
	return out, nil
}

// withInHand is the same question with the heads that are on the bench, or wait for their tests, among those
// in stock. What they still need to pass is no reason against them yet.
func (s *inHand) withInHand() *inHand {
	later := *s
	later.heads = append([]stock.Machine{}, s.heads...)
	for _, m := range s.coming {
		if isInHand(&m) {
			later.heads = append(later.heads, m)
		}
	}
	later.headFit, later.baseFit, later.problem = nil, nil, match.Problem{}
	later.pose()
	return &later
}

func isInHand(m *stock.Machine) bool {
	return m.Stage == registry.Bench || m.Stage == registry.Check
}

// takers counts the heads in hand that an empty place for a drive would take.
func (s *inHand) takers(plan match.Plan, drive registry.Drive) (n int) {
	for i := range s.coming {
		for line, l := range s.lines {
			if isInHand(&s.coming[i]) && l.Wanted.Drive() == drive &&
				l.Asked > len(s.sets[line])+len(plan.Sets[line]) &&
				s.w.Orders.Refuses(s.order[line], &s.lines[line], &s.coming[i]) == "" {
				n++
				break
			}
		}
	}
	return n
}

func (s *inHand) empty(plan match.Plan) (n int) {
	for line, l := range s.problem.Lines {
		n += l.Slots - len(plan.Sets[line])
	}
	return n
}

func basesLeft(p match.Problem, plan match.Plan) int {
	left := len(p.Bases)
	for _, sets := range plan.Sets {
		for _, set := range sets {
			if set.Base >= 0 {
				left--
			}
		}
	}
	return left
}

// Of is the part of a proposal for one order, or nil.
func (p *Proposal) Of(number string) *OrderPlan {
	for i := range p.Orders {
		if p.Orders[i].Order == number {
			return &p.Orders[i]
		}
	}
	return nil
}

// Left says of an order how many places stock fills now, and how many stay empty.
func (p *OrderPlan) Left() (proposed, short int) {
	for _, l := range p.Lines {
		short += l.Short
		for _, set := range l.Sets {
			if !set.Reserved {
				proposed++
			}
		}
	}
	return proposed, short
}

// Unmeasured lists the misses of an order that only want measuring.
func (p *OrderPlan) Unmeasured() (list []Miss) {
	for _, l := range p.Lines {
		for _, m := range l.Misses {
			if l.Wanted == orders.TreadleSet && m.unmeasured {
				list = append(list, m)
			}
		}
	}
	return list
}
