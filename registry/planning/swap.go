package planning

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Swap puts another head or base in the place of one that is on an order: the one named, or the best in
// stock: least work, then longest in stock. What is with it stays. With a reason, what comes off is held for
// it.
func (w *Planning) Swap(ctx context.Context, by registry.Initials, out, other registry.Tag,
	why string) (*orders.Reservation, error) {
	p, err := w.proposeSwap(ctx, out, other)
	var refused *registry.Error
	if errors.As(err, &refused) && refused.Code == registry.Conflict && !registry.Blank(why) {
		// what cracked leaves its place all the same
		refused.Next = append(refused.Next, registry.Next(registry.DoHold, out).With("why", why))
	}
	if err != nil {
		return nil, err
	}
	return p, w.Orders.SwapSet(ctx, by, why, out, *p)
}

func (w *Planning) proposeSwap(ctx context.Context, out, other registry.Tag) (*orders.Reservation, error) {
	var set *promise.OrderSet
	var head *stock.Machine
	var base *stock.Base
	err := w.Store.View(ctx, func(r stock.Reader) (err error) {
		if _, err := stock.UnitByTag(r, out); err != nil {
			return err
		}
		if set, err = promise.SetOf(r, out); err != nil {
			return err
		}
		if head, err = stock.MachineByTag(r, set.Head); err != nil || set.Base == "" {
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
		return nil, registry.Errorf(registry.Conflict, "order %s has no line %d any more", set.Order,
			set.Line).
			Then(registry.Next(registry.DoShowOrder, "").Of(set.Order))
	}
	var best *orders.Reservation
	var refused string
	if out == set.Base {
		best, refused = s.bestBase(line, head, other)
	} else {
		best, refused = s.bestHead(line, base, other)
	}
	if best != nil {
		return best, nil
	}
	var next []registry.NextStep
	if other != "" && refused == "" {
		refused, next = fmt.Sprintf("%s is not ready", other),
			[]registry.NextStep{registry.Next(registry.DoShow, other)}
	}
	if refused == "" {
		if refused = "no other head in stock is for that line"; out == set.Base {
			refused = "no other base in stock takes its head"
		}
	}
	return nil, registry.Errorf(registry.Conflict, "nothing can take the place of %s on order %s: %s", out,
		set.Order, refused).
		Then(next...)
}

// bestHead finds the best ready head for a place, or says what keeps the nearest from it.
func (s *inHand) bestHead(line int, base *stock.Base, only registry.Tag) (best *orders.Reservation,
	refused string) {
	var nearest *fit.Result
	for i := range s.heads {
		m := &s.heads[i]
		if only != "" && m.Tag != only {
			continue
		}
		if why := cmp.Or(s.w.Orders.Usable(m),
			s.w.Orders.Refuses(s.order[line], &s.lines[line], m)); why != "" {
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
			p.Minutes, p.Jobs = r.WorkMinutes, jobs(r)
		}
		p.Jobs = append(p.Jobs, s.w.Orders.MainsJobs(s.order[line], &s.lines[line], m)...)
		if best == nil ||
			cmp.Or(cmp.Compare(p.Minutes, best.Minutes), p.Head.LoggedAt.Compare(best.Head.LoggedAt)) < 0 {
			best = p
		}
	}
	return best, refused
}

// bestBase finds the best ready base for a head that stays, or says what keeps the nearest from it.
func (s *inHand) bestBase(line int, head *stock.Machine, only registry.Tag) (best *orders.Reservation,
	refused string) {
	var nearest *fit.Result
	for i := range s.bases {
		b := &s.bases[i]
		if only != "" && b.Tag != only {
			continue
		}
		r := fit.Check(fit.HeadOf(head), s.baseFit[i], s.house)
		if r.Fits != fit.Fits && r.Fits != fit.WithWork {
			if nearest == nil || fit.Compare(r, *nearest) < 0 {
				nearest, refused = &r, fmt.Sprintf("%s with %s: %s", head.Tag, b.Tag, r.InShort())
			}
			continue
		}
		if best == nil ||
			cmp.Or(cmp.Compare(r.WorkMinutes, best.Minutes), b.LoggedAt.Compare(best.Base.LoggedAt)) < 0 {
			best = &orders.Reservation{Order: s.lines[line].Order, Line: s.lines[line].Line, Head: *head,
				Base: b, Minutes: r.WorkMinutes, Jobs: jobs(r)}
		}
	}
	return best, refused
}

// jobs are the work of a fit as an order takes it.
func jobs(r fit.Result) (list []orders.Job) {
	for _, job := range r.Work {
		j := orders.Job{Job: job.Name, Minutes: job.Minutes, Skill: registry.SkillWood}
		switch job.Name {
		case fit.JobSwapWheel:
			j.Skill, j.Parts = registry.SkillBench, []string{"handwheel"}
		case fit.JobNewTop:
			j.Parts = []string{"top"}
		}
		list = append(list, j)
	}
	return list
}
