package planning

import (
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/match"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

// pin takes pairs into the problem, or says why one cannot stand.
func (s *inHand) pin(pairs []Pair) error {
	for i, pair := range pairs {
		for _, other := range pairs[:i] {
			if other.Head == pair.Head || other.Base == pair.Base {
				return registry.Errorf(registry.Invalid,
					"%s on %s and %s on %s cannot both be pinned: name each head and each base once",
					other.Head, other.Base, pair.Head, pair.Base).On("pin")
			}
		}
		head := slices.IndexFunc(s.heads, func(m stock.Machine) bool { return m.Tag == pair.Head })
		base := slices.IndexFunc(s.bases, func(b stock.Base) bool { return b.Tag == pair.Base })
		if head < 0 || base < 0 {
			tag := pair.Head
			if head >= 0 {
				tag = pair.Base
			}
			return registry.Errorf(registry.Conflict,
				"%s cannot be pinned: it is not among what is ready and promised to nobody", tag).On("pin").
				Then(registry.Next(registry.DoShow, tag))
		}
		m := &s.heads[head]
		if why := s.w.Orders.Usable(m); why != "" && m.Stage == registry.Ready {
			return registry.Errorf(registry.Conflict, "%s cannot be pinned: it %s", m.Tag, why).On("pin")
		}
		if why := s.noLine(m); why != "" {
			return registry.Errorf(registry.Conflict, "%s cannot be pinned: %s", m.Tag, why).On("pin").
				Then(registry.Next(registry.DoListOrders, ""))
		}
		if r := s.fit(head, base); r.Fits != fit.Fits && r.Fits != fit.WithWork {
			return registry.Errorf(registry.Conflict, "%s cannot be pinned to %s: %s", pair.Head, pair.Base,
				r.InShort()).On("pin").Then(registry.Next(registry.DoShow, pair.Head))
		}
		s.pins = append(s.pins, match.Pin{Head: head, Base: base})
	}
	return nil
}

// noLine says why no open place for a treadle set takes a head, or nothing.
func (s *inHand) noLine(m *stock.Machine) (why string) {
	why = "no open order asks for a treadle set"
	for line, l := range s.lines {
		if l.Wanted != orders.TreadleSet || s.problem.Lines[line].Slots == 0 {
			continue
		}
		refused := s.w.Orders.Refuses(s.order[line], &s.lines[line], m)
		if refused == "" {
			return ""
		}
		why = fmt.Sprintf("line %d of %s does not take it: %s", l.Line, l.Order, refused)
	}
	return why
}
