package planning

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

// Swap puts another head in the place of one that is on an order: the one named, or the best that is in inHand: least work, then longest in
// stock. A base stays where it is.
func (w *Planning) Swap(ctx context.Context, by registry.Initials, head, other registry.Tag, why string) (*orders.Reservation, error) {
	p, err := w.proposeSwap(ctx, head, other)
	if err != nil {
		return nil, err
	}
	return p, w.Orders.SwapSet(ctx, by, why, head, *p)
}

func (w *Planning) proposeSwap(ctx context.Context, head, other registry.Tag) (*orders.Reservation, error) {
	var set *stock.OrderSet
	var base *stock.Base
	err := w.Store.View(ctx, func(r stock.Reader) (err error) {
		if _, err := stock.MachineByTag(r, head); err != nil {
			return err
		}
		if set, err = stock.SetOf(r, head); err != nil || set.Base == "" {
			return err
		}
		base, err = stock.BaseByTag(r, set.Base)
		return err
	})
	if err != nil {
		return nil, err
	}
	s, err := w.read(ctx, []string{set.Order})
	if err != nil {
		return nil, err
	}
	line := slices.IndexFunc(s.lines, func(l orders.OrderLine) bool { return l.Line == set.Line })
	if line < 0 {
		return nil, registry.Errorf(registry.Conflict, "order %s has no line %d any more", set.Order, set.Line).
			Then(registry.Next(registry.DoShowOrder, "").Of(set.Order))
	}
	best, refused := s.bestHead(line, base, other)
	if best != nil {
		return best, nil
	}
	var next []registry.NextStep
	if other != "" && refused == "" {
		refused, next = fmt.Sprintf("%s is not ready", other), []registry.NextStep{registry.Next(registry.DoShow, other)}
	}
	if refused == "" {
		refused = "no other head in stock is for that line"
	}
	return nil, registry.Errorf(registry.Conflict, "nothing can take the place of %s on order %s: %s", head, set.Order, refused).
		Then(next...)
}

// bestHead finds the best ready head for a place, or says what keeps the nearest from it.
func (s *inHand) bestHead(line int, base *stock.Base, only registry.Tag) (best *orders.Reservation, refused string) {
	var nearest *fit.Result
	for i := range s.heads {
		m := &s.heads[i]
		if only != "" && m.Tag != only {
			continue
		}
		if why := cmp.Or(s.w.Orders.Usable(m), s.w.Orders.Refuses(s.order[line], &s.lines[line], m)); why != "" {
			if only != "" {
				refused = fmt.Sprintf("%s: %s", m.Tag, why)
			}
			continue
		}
		p := &orders.Reservation{Order: s.lines[line].Order, Line: s.lines[line].Line, Head: *m, Base: base}
		if base != nil {
			r := fit.Check(s.headFit[i], fit.BaseOf(base), s.house)
			if r.Fits != fit.Fits && r.Fits != fit.WithWork {
				if nearest == nil || fit.Compare(r, *nearest) < 0 {
					nearest, refused = &r, fmt.Sprintf("%s with %s: %s", m.Tag, base.Tag, r.InShort())
				}
				continue
			}
			p.Minutes, p.Work = r.WorkMinutes, jobs(r)
		}
		if work := s.order[line].Supply.PlugWork(m.Plate); s.lines[line].Wanted == orders.ElectricOne && work != "" {
			p.Work = append(p.Work, work)
		}
		if best == nil || cmp.Or(cmp.Compare(p.Minutes, best.Minutes), p.Head.LoggedAt.Compare(best.Head.LoggedAt)) < 0 {
			best = p
		}
	}
	return best, refused
}

// jobs writes the work of a fit for people.
func jobs(r fit.Result) (list []string) {
	for _, job := range r.Work {
		list = append(list, fmt.Sprintf("%s, %d min", job.Name, job.Minutes))
	}
	return list
}
