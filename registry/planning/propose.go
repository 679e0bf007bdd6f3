// Package planning turns what partners ask for into named heads and bases: it reads orders and stock, lets
// package match find the best plan under the rules of package fit, and says for each place that stays empty
// why, and what comes nearest.
package planning

import (
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/match"
	"pitman/registry/neighbours"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Proposal is the best plan for the stock as it is, or one that is not proved the best.
type Proposal struct {
	Code   string      `json:"proposal"` // the same as long as the same would be reserved
	Orders []OrderPlan `json:"orders"`
	Filled int         `json:"total_filled"`
	Coming int         `json:"total_coming"` // of those filled, that are not ready yet
	// of those filled, that wait for what stands in another house
	Elsewhere int      `json:"total_elsewhere,omitempty"`
	Rounds    []Round  `json:"rounds,omitempty"` // to other houses
	Driving   *Driving `json:"driving,omitempty"`
	Minutes   int      `json:"total_work_minutes"`
	Untimed   int      `json:"untimed_jobs,omitempty"` // whose minutes nobody knows, so the total lacks them
	Optimal   bool     `json:"optimal"`
	Gap       string   `json:"gap,omitempty"` // how far from the best it may be
	Split     bool     `json:"split_proved"`  // that no other choice leaves less work to the first orders

	Kits []spares.KitNeed `json:"kits"` // what the kits of all these machines lack and the stock cannot give

	Reservations []orders.Reservation `json:"-"`
}

// OrderPlan is one order's part.
type OrderPlan struct {
	Order    string     `json:"order"`
	Partner  string     `json:"partner"`
	Due      string     `json:"due"`
	Currency string     `json:"currency"`
	Lines    []LinePlan `json:"lines"`
}

// LinePlan is what fills a line, those places included that are reserved already, and what does not.
type LinePlan struct {
	Line   int           `json:"line"`
	Wanted orders.Wanted `json:"kind"`
	Asked  int           `json:"asked"`
	Filled int           `json:"filled"`
	Short  int           `json:"short"`
	// what buying the rest locally costs, in the order's currency; nil when the house has no price
	Fund   *float64  `json:"fund"`
	Reason string    `json:"reason,omitempty"`
	Sets   []SetPlan `json:"sets"`
	Misses []Miss    `json:"misses"`
}

// SetPlan is one filled place.
type SetPlan struct {
	Head     registry.Tag  `json:"head"`
	Base     *registry.Tag `json:"base"`
	Minutes  int           `json:"work_minutes"`
	Reasons  []string      `json:"reasons"`
	Reserved bool          `json:"reserved"`
	Coming   bool          `json:"coming"` // not ready yet: counted, and confirmed no sooner
	// the day by which it is, if it takes as long as others did
	Expected string `json:"expected,omitempty"`
	// letters of the other house where the head or base stands
	HeadFrom string `json:"head_from,omitempty"`
	BaseFrom string `json:"base_from,omitempty"`
}

// Miss is a piece that came near.
type Miss struct {
	Tag  registry.Tag        `json:"tag"`
	Why  string              `json:"why"`
	Next []registry.NextStep `json:"next,omitempty"` // what makes it do

	Since time.Time `json:"-"` // in the house

	Fills bool `json:"fills"` // this change alone fills a place more

	unmeasured bool // nothing is known to be against it
}

// inHand is everything that a proposal rests on, read in one unchanging state.
type inHand struct {
	w      *Planning
	house  fit.House
	orders []orders.Order
	lines  []orders.OrderLine // with their orders in the same places of lineOrder
	order  []*orders.Order
	sets   [][]orders.SetView // of each line
	heads  []stock.Machine    // ready
	bases  []stock.Base       // ready
	coming []stock.Machine    // not ready yet
	unmade []stock.Base
	prices []orders.PurchasePrice

	headFit []fit.Head
	baseFit []fit.Base
	problem match.Problem

	pins    []match.Pin
	usual   map[registry.Stage]float64         // days that a stay takes, where bench machines count
	theirs  map[registry.Tag]*neighbours.House // of the pieces that stand in another house
	rounds  []Round
	driving *Driving
	try     bool // say which one change fills a place: each asks for a plan of its own
}

// maxComing bounds how many pieces that are not ready are looked through for each stage.
const maxComing = 200

// Propose finds the best plan for these open orders, or for all.
func (w *Planning) Propose(ctx context.Context, numbers []string) (*Proposal, error) {
	s, err := w.read(ctx, numbers)
	if err != nil {
		return nil, err
	}
	p, _, err := s.propose(ctx)
	return p, err
}

// How says what else a proposal is to mind.
type How struct {
	Pins       []Pair // that are to be in it
	WithBench  bool   // machines on the bench, and before their test, count as if they were ready
	WithHouses bool   // what stands in other houses counts where this one's stock does not suffice
}

// Pair is a head and the base that it is to stand on.
type Pair struct{ Head, Base registry.Tag }

// ProposeAs finds the best plan with what else is asked of it, and says of what came near which one change
// would fill a place.
func (w *Planning) ProposeAs(ctx context.Context, numbers []string, how How) (*Proposal, error) {
	s, err := w.read(ctx, numbers)
	if err != nil {
		return nil, err
	}
	s.try = true
	if how.WithBench {
		if err := w.Store.View(ctx, s.stays); err != nil {
			return nil, err
		}
		s = s.withInHand()
	}
	if err := s.pin(how.Pins); err != nil {
		return nil, err
	}
	if how.WithHouses {
		if s, err = s.withHouses(ctx); err != nil {
			return nil, err
		}
	}
	p, _, err := s.propose(ctx)
	return p, err
}

func (s *inHand) propose(ctx context.Context) (*Proposal, match.Plan, error) {
	plan, ok, err := match.SolvePinned(s.problem, s.pins)
	if err != nil {
		return nil, plan, err
	}
	if !ok {
		return nil, plan, registry.Errorf(registry.Conflict,
			"no open place is left for what is pinned: give a place back, or pin less").On("pin").
			Then(registry.Next(registry.DoListOrders, ""))
	}
	p := s.proposal(plan)
	if s.w.Spares.Lists.Kits != nil {
		if p.Kits, err = s.w.Spares.KitsShort(ctx, s.leaving(p)); err != nil {
			return nil, plan, err
		}
	}
	return p, plan, nil
}

// leaving lists the machines of a proposal, and how each goes.
func (s *inHand) leaving(p *Proposal) (list []spares.LeavingMachine) {
	for i := range p.Orders {
		for _, l := range p.Orders[i].Lines {
			for _, set := range l.Sets {
				if set.HeadFrom != "" {
					continue // what its kit lacks is seen when it comes
				}
				list = append(list,
					spares.LeavingMachine{Tag: set.Head, Due: p.Orders[i].Due,
						Leaving: spares.Leaving{As: l.Wanted.Drive(), Plug: s.orders[i].Supply.Plug()}})
			}
		}
	}
	return list
}

func (w *Planning) read(ctx context.Context, numbers []string) (*inHand, error) {
	s := &inHand{w: w, house: fit.HouseOf(*w.Config.Fit, *w.Config.Belt)}
	err := w.Store.View(ctx, func(r stock.Reader) error {
		if err := s.readOrders(r, numbers); err != nil {
			return err
		}
		return s.readPieces(r)
	})
	if err != nil {
		return nil, err
	}
	if w.Orders.Lists.Prices != nil {
		if s.prices, err = w.Orders.Lists.Prices(); err != nil {
			return nil, err
		}
	}
	s.pose()
	return s, nil
}

func (s *inHand) readOrders(r stock.Reader, numbers []string) error {
	all, err := orders.All(r, "")
	if err != nil {
		return err
	}
	for _, number := range numbers {
		i := slices.IndexFunc(all, func(o orders.Order) bool { return o.Number == number })
		if i < 0 {
			_, err := orders.OrderByNumber(r, number)
			return err
		}
		if all[i].State != orders.OrderOpen {
			return registry.Errorf(registry.Conflict, "order %s is %s: only open orders are matched", number,
				all[i].State)
		}
	}
	for _, o := range all {
		if o.State == orders.OrderOpen && (len(numbers) == 0 || slices.Contains(numbers, o.Number)) {
			s.orders = append(s.orders, o)
		}
	}
	for i := range s.orders {
		o := &s.orders[i]
		lines, err := orders.OrderLines(r, o.Number)
		if err != nil {
			return err
		}
		sets, err := orders.ViewSets(r, o.Number)
		if err != nil {
			return err
		}
		for _, l := range lines {
			if l.Asked == 0 {
				continue
			}
			filled := slices.DeleteFunc(slices.Clone(sets),
				func(set orders.SetView) bool { return set.Line != l.Line })
			s.lines, s.order, s.sets = append(s.lines, l), append(s.order, o), append(s.sets, filled)
		}
	}
	return nil
}

func (s *inHand) readPieces(r stock.Reader) error {
	err := r.Machines(stock.MachineFilter{Stage: registry.Ready, Here: true}, func(m *stock.Machine) error {
		s.heads = append(s.heads, *m)
		return nil
	})
	if err != nil {
		return err
	}
	for _, stage := range []registry.Stage{registry.Check, registry.Bench, registry.Queued} {
		err := r.Machines(stock.MachineFilter{Stage: stage, Here: true, Limit: maxComing},
			func(m *stock.Machine) error {
				s.coming = append(s.coming, *m)
				return nil
			})
		if err != nil {
			return err
		}
	}
	if err := r.All(&s.bases, stock.Fields{"stage": registry.Ready, "handed_to": ""}); err != nil {
		return err
	}
	return r.All(&s.unmade, stock.Fields{"stage": registry.Logged, "handed_to": ""})
}

// pose puts orders and stock as a problem of matching.
func (s *inHand) pose() {
	p := &s.problem
	for i, l := range s.lines {
		p.Lines = append(p.Lines, match.Line{
			ID:       fmt.Sprintf("%s/%04d", l.Order, l.Line),
			Kind:     kindOf(l.Wanted.Drive()),
			Slots:    l.Asked - len(s.sets[i]),
			Priority: s.order[i].Priority,
			Due:      dayNumber(s.order[i].Due),
			Number:   numberOf(l.Order),
		})
	}
	together := map[registry.Tag]registry.Tag{} // base of each head that arrived with one
	for _, b := range s.bases {
		if b.ArrivedWith != "" {
			together[b.ArrivedWith] = b.Tag
		}
	}
	for i := range s.heads {
		m := &s.heads[i]
		s.headFit = append(s.headFit, fit.HeadOf(m))
		h := match.Head{ID: string(m.Tag), Pattern: fmt.Sprint(s.headFit[i]), Arrived: s.day(m.LoggedAt)}
		if m.Stage != registry.Ready || s.theirs[m.Tag] != nil || s.w.Orders.Usable(m) == "" {
			for _, drive := range m.Serves() {
				h.As |= kindOf(drive)
			}
		}
		h.Donation = string(cmp.Or(m.ArrivedWith, together[m.Tag]))
		p.Heads = append(p.Heads, h)
	}
	for i := range s.bases {
		b := &s.bases[i]
		s.baseFit = append(s.baseFit, fit.BaseOf(b))
		p.Bases = append(p.Bases,
			match.Base{ID: string(b.Tag), Pattern: fmt.Sprint(s.baseFit[i]), Arrived: s.day(b.LoggedAt),
				Donation: string(b.Tag)})
	}
	p.Allows = func(line, head int) bool {
		return s.w.Orders.Refuses(s.order[line], &s.lines[line], &s.heads[head]) == ""
	}
	p.Work = func(head, base int) (int, bool) {
		score := fit.Judge(s.headFit[head], s.baseFit[base], s.house)
		return score.Minutes, score.Usable()
	}
}

// fit holds a head against a base, with sentences.
func (s *inHand) fit(head, base int) fit.Result {
	return fit.Check(s.headFit[head], s.baseFit[base], s.house)
}

func kindOf(d registry.Drive) match.Kind {
	return map[registry.Drive]match.Kind{registry.Treadle: match.Treadle, registry.Hand: match.Hand,
		registry.Electric: match.Electric}[d]
}

// numberOf is the number of an order without its letters.
func numberOf(order string) int {
	n, _ := strconv.Atoi(strings.TrimLeft(order, registry.OrderLetters))
	return n
}

func dayNumber(day string) int {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return math.MaxInt32 // no day comes last
	}
	return int(at.Unix() / 86400)
}

// day is the day on which a piece came in, in the house's zone.
func (s *inHand) day(at time.Time) int {
	return dayNumber(at.In(s.w.Location()).Format(time.DateOnly))
}

func (s *inHand) proposal(plan match.Plan) *Proposal {
	p := &Proposal{Orders: []OrderPlan{}, Kits: []spares.KitNeed{}, Optimal: plan.Optimal,
		Split: plan.SplitProved}
	if !plan.Optimal {
		p.Gap = fmt.Sprintf("another plan may be better by up to %d %s", plan.Gap.Amount, plan.Gap.Rank)
	}
	shortfalls := match.Shortfalls(s.problem, plan)
	near := s.nearest(plan)
	for i := range s.orders {
		o := &s.orders[i]
		op := OrderPlan{Order: o.Number, Partner: o.Partner, Due: o.Due, Currency: o.Currency,
			Lines: []LinePlan{}}
		for line := range s.lines {
			if s.order[line] != o {
				continue
			}
			lp := s.linePlan(p, line, plan.Sets[line])
			if lp.Short > 0 {
				lp.Reason = string(shortfalls[line].Reason)
				lp.Fund = s.fund(o, lp)
				lp.Misses = near.of(line, shortfalls[line])
			}
			p.Filled += lp.Filled
			op.Lines = append(op.Lines, lp)
		}
		p.Orders = append(p.Orders, op)
	}
	p.Rounds, p.Driving = s.rounds, s.driving
	p.Code = p.code()
	return p
}

// linePlan lists what fills a line: first what is reserved for it, then what is proposed.
func (s *inHand) linePlan(p *Proposal, line int, sets []match.Set) LinePlan {
	l := s.lines[line]
	lp := LinePlan{Line: l.Line, Wanted: l.Wanted, Asked: l.Asked, Sets: []SetPlan{}, Misses: []Miss{}}
	for _, set := range s.sets[line] {
		sp := SetPlan{Head: set.Head, Minutes: set.Minutes, Reasons: append([]string{}, set.Work...),
			Reserved: true}
		if set.Trouble != "" {
			sp.Reasons = append(sp.Reasons, set.Trouble)
		}
		if set.Base != "" {
			sp.Base = &set.Base
		}
		lp.Sets = append(lp.Sets, sp)
		p.Minutes += set.Minutes
		p.Untimed += orders.Untimed(set.Work)
	}
	for _, set := range sets {
		r := orders.Reservation{Order: l.Order, Line: l.Line, Head: s.heads[set.Head], Minutes: set.Minutes}
		sp := SetPlan{Head: r.Head.Tag, Minutes: set.Minutes, Reasons: []string{}}
		if sp.Coming = r.Head.Stage != registry.Ready; sp.Coming {
			sp.Expected = s.expected(&r.Head)
		}
		if set.Base >= 0 {
			base := s.bases[set.Base]
			r.Base, sp.Base = &base, &base.Tag
			r.Jobs = jobs(s.fit(set.Head, set.Base))
		}
		if r.Head.TakesMains() {
			r.Jobs = append(r.Jobs, s.w.Orders.MainsJobs(s.order[line], &s.lines[line], &r.Head)...)
			if s.order[line].Supply == "" {
				sp.Reasons = append(sp.Reasons,
					"the order's supply is not known: nothing says that it runs there")
			}
		}
		sp.Reasons = append(sp.Reasons, r.Work()...)
		p.Untimed += orders.Untimed(r.Work())
		if set.Together {
			sp.Reasons = append(sp.Reasons, "arrived together")
		}
		s.brings(&sp, l.Order, l.Line, set.Head, set.Base)
		sp.Reasons = append(sp.Reasons, "in stock since "+
			r.Head.LoggedAt.In(s.w.Location()).Format(time.DateOnly))
		lp.Sets = append(lp.Sets, sp)
		p.Minutes += set.Minutes
		if sp.Coming { // nobody confirms what is not ready
			p.Coming++
			continue
		}
		if sp.Elsewhere() { // and nothing is reserved in another house
			p.Elsewhere++
			continue
		}
		p.Reservations = append(p.Reservations, r)
	}
	lp.Filled = len(lp.Sets)
	lp.Short = lp.Asked - lp.Filled
	return lp
}

// fund is what buying the missing machines locally costs.
func (s *inHand) fund(o *orders.Order, lp LinePlan) *float64 {
	for _, price := range s.prices {
		if price.Wanted == lp.Wanted && strings.EqualFold(price.Currency, o.Currency) {
			total := math.Round(float64(lp.Short)*price.Price*100) / 100
			return &total
		}
	}
	return nil
}

// code is short for what would be reserved, so that a person can confirm what was seen and nothing else.
func (p *Proposal) code() string {
	h := sha256.New()
	for _, r := range p.Reservations {
		base := registry.Tag("")
		if r.Base != nil {
			base = r.Base.Tag
		}
		fmt.Fprintf(h, "%s/%d %s %s %d\n", r.Order, r.Line, r.Head.Tag, base, r.Minutes)
	}
	return fmt.Sprintf("%X", h.Sum(nil)[:3])
}
