package packing

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/crate"
	"pitman/registry/fit"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// CratePlan is the timber work of an order, or of all open ones together: crates to build, boards to cut, and
// tops to make.
type CratePlan struct {
	Order  string       `json:"order"`  // empty: of all open orders together
	Before []string     `json:"before"` // orders that are served first and whose boards are left to them
	Crates []CrateCount `json:"crates"`
	Timber []TimberPlan `json:"timber"`
	Tops   []TopPlan    `json:"tops"`
}

// CrateCount is how many crates of one kind are to be built.
type CrateCount struct {
	For    orders.Wanted  `json:"for"`
	Count  int            `json:"count"`
	Length measure.Length `json:"length_mm"`
	Width  measure.Length `json:"width_mm"`
	Height measure.Length `json:"height_mm"`
}

// TimberPlan is the cutting list of one cross-section.
type TimberPlan struct {
	Timber string `json:"timber"`
	crate.Plan
}

// TopPlan is the top that a treadle set asks for, cut to its head.
type TopPlan struct {
	Head registry.Tag `json:"head"`
	Base registry.Tag `json:"base"`
	fit.NewTop
	LidServes bool   `json:"lid_serves"`
	Why       string `json:"why"`
}

// PlanCrates plans the crates of an order: for what is on it, and where nothing is yet, for what it asks for.
// Boards that orders served before it are planned with are theirs, so that no board is planned twice.
func (w *Packing) PlanCrates(ctx context.Context, number string) (*CratePlan, error) {
	v, err := w.Orders.ViewOrder(ctx, number)
	if err != nil {
		return nil, err
	}
	hand, err := stock.Rows(w.Lists.Boards)
	if err != nil {
		return nil, err
	}
	plan := &CratePlan{Order: v.Number, Before: []string{}, Tops: []TopPlan{}}
	first, err := w.servedFirst(ctx, v)
	if err != nil {
		return nil, err
	}
	for i := range first {
		counts, err := w.toBuild(ctx, &first[i])
		if err != nil {
			return nil, err
		}
		theirs := &CratePlan{}
		if err := w.build(theirs, []crateCounts{{"", counts}}, hand); err != nil || len(theirs.Crates) == 0 {
			continue // what cannot be planned has no boards
		}
		plan.Before = append(plan.Before, first[i].Number)
		hand = without(hand, theirs)
	}
	counts, err := w.toBuild(ctx, v)
	if err != nil {
		return nil, err
	}
	if sum(counts) == 0 { // all of it is packed: the crates that it went into
		counts = onOrder(v)
	}
	if err := w.build(plan, []crateCounts{{"", counts}}, hand); err != nil {
		return nil, err
	}
	if len(plan.Crates) == 0 {
		return nil, registry.Errorf(registry.Conflict, "order %s asks for nothing yet", number).
			Then(registry.Next(registry.DoOrderLine, "").Of(number))
	}
	return plan, plan.tops(ctx, w, number, len(v.Sets))
}

// PlanAllCrates plans the crates of all open orders at once: one cutting list, which starts no board more
// than it must.
func (w *Packing) PlanAllCrates(ctx context.Context) (*CratePlan, error) {
	open, err := w.Orders.ViewOrders(ctx, orders.OrderOpen)
	if err != nil {
		return nil, err
	}
	hand, err := stock.Rows(w.Lists.Boards)
	if err != nil {
		return nil, err
	}
	plan := &CratePlan{Before: []string{}, Crates: []CrateCount{}, Timber: []TimberPlan{}, Tops: []TopPlan{}}
	var all []crateCounts
	for i := range open {
		counts, err := w.toBuild(ctx, &open[i])
		if err != nil {
			return nil, err
		}
		all = append(all, crateCounts{open[i].Number, counts})
	}
	return plan, w.build(plan, all, hand)
}

// servedFirst lists the open orders that are served before one, in that order.
func (w *Packing) servedFirst(ctx context.Context, v *orders.OrderView) ([]orders.OrderView, error) {
	if v.State != orders.OrderOpen {
		return nil, nil
	}
	open, err := w.Orders.ViewOrders(ctx, orders.OrderOpen)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(open, func(o orders.OrderView) bool { return o.Number == v.Number })
	return open[:max(at, 0)], nil
}

// crateCounts is how many crates of each kind an order needs; its name stands on the pieces where several
// orders are cut together.
type crateCounts struct {
	order  string
	counts map[orders.Wanted]int
}

func sum(counts map[orders.Wanted]int) (n int) {
	for _, count := range counts {
		n += count
	}
	return n
}

// onOrder counts the places of an order that are filled or, where none is, those that it asks for.
func onOrder(v *orders.OrderView) map[orders.Wanted]int {
	counts := map[orders.Wanted]int{}
	for _, l := range v.Lines {
		if len(v.Sets) > 0 {
			counts[l.Wanted] += l.Filled
		} else {
			counts[l.Wanted] += l.Asked
		}
	}
	return counts
}

// toBuild is onOrder without what is in its crate already.
func (w *Packing) toBuild(ctx context.Context, v *orders.OrderView) (map[orders.Wanted]int, error) {
	counts := onOrder(v)
	if v.State != orders.OrderOpen {
		return counts, nil
	}
	err := w.Store.View(ctx, func(r stock.Reader) error {
		for _, set := range v.Sets {
			missing, err := promise.Unpacked(r, []promise.OrderSet{set.OrderSet})
			if err != nil {
				return err
			}
			for _, l := range v.Lines {
				if l.Line == set.Line && len(missing) == 0 {
					counts[l.Wanted]--
				}
			}
		}
		return nil
	})
	return counts, err
}

// build plans crates from boards in hand.
func (w *Packing) build(plan *CratePlan, of []crateCounts, hand []BoardRow) error {
	plan.Crates, plan.Timber = []CrateCount{}, []TimberPlan{}
	var timbers []string
	pieces := map[string][]crate.Piece{}
	for _, wanted := range orders.WantedKinds {
		n := 0
		for _, one := range of {
			n += one.counts[wanted]
		}
		if n == 0 {
			continue
		}
		kind, ok := w.Config.Crates.CrateFor(wanted)
		if !ok {
			return registry.Errorf(registry.NotFound,
				"house.toml has no [[crates.kind]] for %s: add one, with its size and its parts", wanted)
		}
		plan.Crates = append(plan.Crates,
			CrateCount{wanted, n, measure.MM(kind.Length), measure.MM(kind.Width), measure.MM(kind.Height)})
		for _, p := range kind.Parts {
			if pieces[p.Timber] == nil {
				timbers = append(timbers, p.Timber)
			}
			for _, one := range of {
				name := strings.TrimSpace(one.order + " " + p.Name)
				for range one.counts[wanted] * p.Count {
					pieces[p.Timber] = append(pieces[p.Timber],
						crate.Piece{Name: name, Length: measure.MM(p.Length)})
				}
			}
		}
	}
	return plan.cut(w, hand, timbers, pieces)
}

// without takes the boards of a plan out of those in hand.
func without(hand []BoardRow, plan *CratePlan) []BoardRow {
	hand = slices.Clone(hand)
	for _, t := range plan.Timber {
		for _, cut := range t.Cuts {
			i := slices.IndexFunc(hand, func(b BoardRow) bool {
				return b.Count > 0 && b.Length == cut.Board && strings.EqualFold(b.Timber, t.Timber)
			})
			if i >= 0 && !cut.Bought {
				hand[i].Count--
			}
		}
	}
	return hand
}

func (plan *CratePlan) cut(w *Packing, rows []BoardRow, timbers []string,
	pieces map[string][]crate.Piece) error {
	saw := crate.Saw{Kerf: measure.MM(w.Config.Crates.Kerf), Buy: measure.MM(w.Config.Crates.Buy)}
	for _, timber := range timbers {
		var hand []crate.Board
		for _, row := range rows {
			if strings.EqualFold(row.Timber, timber) {
				hand = append(hand, crate.Board{Length: row.Length, Count: row.Count})
			}
		}
		cuts, err := crate.CutList(pieces[timber], hand, saw)
		if err != nil {
			return fmt.Errorf("%s: %w", timber, err)
		}
		plan.Timber = append(plan.Timber, TimberPlan{timber, cuts})
	}
	return nil
}

// tops lists the table tops that are to be made, each from the lid of its own crate where that is large
// enough.
func (plan *CratePlan) tops(ctx context.Context, w *Packing, number string, sets int) error {
	if sets == 0 {
		return nil
	}
	var list []piece
	err := w.Store.View(ctx, func(r stock.Reader) (err error) {
		_, list, err = w.pieces(r, number)
		return err
	})
	if err != nil {
		return err
	}
	kind, _ := w.Config.Crates.CrateFor(orders.TreadleSet)
	lid := crate.Size{Length: measure.MM(kind.LidLength), Width: measure.MM(kind.LidWidth)}
	house := fit.HouseOf(*w.Config.Fit, *w.Config.Belt)
	for _, one := range list {
		if one.base == nil {
			continue
		}
		r := fit.Check(fit.HeadOf(&one.head), fit.BaseOf(one.base), house)
		if r.NewTop == nil {
			continue
		}
		top := TopPlan{Head: one.head.Tag, Base: one.base.Tag, NewTop: *r.NewTop}
		top.LidServes, top.Why = crate.LidServes(lid, *r.NewTop, measure.MM(w.Config.Crates.TopMargin))
		plan.Tops = append(plan.Tops, top)
	}
	return nil
}
