package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/fit"
)

// Swap puts another head in the place of one that is on an order: the one named, or the best that is in stock: least work, then longest in
// stock. A base stays where it is.
func Swap(ctx context.Context, w *registry.Workshop, by registry.Initials, head, other registry.Tag, why string) (*registry.Reservation, error) {
	p, err := proposeSwap(ctx, w, head, other)
	if err != nil {
		return nil, err
	}
	return p, w.SwapSet(ctx, by, why, head, *p)
}

func proposeSwap(ctx context.Context, w *registry.Workshop, head, other registry.Tag) (*registry.Reservation, error) {
	var set *registry.OrderSet
	var base *registry.Base
	err := w.Store.View(ctx, func(r registry.Reader) (err error) {
		if _, err := registry.MachineByTag(r, head); err != nil {
			return err
		}
		if set, err = registry.SetOf(r, head); err != nil || set.Base == "" {
			return err
		}
		base, err = registry.BaseByTag(r, set.Base)
		return err
	})
	if err != nil {
		return nil, err
	}
	s, err := read(ctx, w, []string{set.Order})
	if err != nil {
		return nil, err
	}
	line := slices.IndexFunc(s.lines, func(l registry.OrderLine) bool { return l.Line == set.Line })
	if line < 0 {
		return nil, registry.Errorf(registry.Conflict, "order %s has no line %d any more: pitman order show %s", set.Order, set.Line, set.Order)
	}
	best, refused := s.bestHead(line, base, other)
	if best != nil {
		return best, nil
	}
	if other != "" && refused == "" {
		refused = fmt.Sprintf("%s is not ready: pitman show %s", other, other)
	}
	if refused == "" {
		refused = "no other head in stock is for that line"
	}
	return nil, registry.Errorf(registry.Conflict, "nothing can take the place of %s on order %s: %s", head, set.Order, refused)
}

// bestHead finds the best ready head for a place, or says what keeps the nearest from it.
func (s *stock) bestHead(line int, base *registry.Base, only registry.Tag) (best *registry.Reservation, refused string) {
	var nearest *fit.Result
	for i := range s.heads {
		m := &s.heads[i]
		if only != "" && m.Tag != only {
			continue
		}
		if why := cmp.Or(s.w.Usable(m), s.w.Refuses(s.order[line], &s.lines[line], m)); why != "" {
			if only != "" {
				refused = fmt.Sprintf("%s: %s", m.Tag, why)
			}
			continue
		}
		p := &registry.Reservation{Order: s.lines[line].Order, Line: s.lines[line].Line, Head: *m, Base: base}
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
		if work := s.order[line].Supply.PlugWork(m.Plate); s.lines[line].Wanted == registry.ElectricOne && work != "" {
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
