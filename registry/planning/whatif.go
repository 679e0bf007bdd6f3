package planning

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/match"
	"pitman/registry/stock"
)

// Asked is what so many more bases of one pattern would do.
type Asked struct {
	Pattern string       `json:"pattern"`
	Like    registry.Tag `json:"like"`   // a base of that pattern
	Filled  int          `json:"filled"` // places in all, those included that are reserved already
	More    int          `json:"more"`   // places more than now
}

// WhatIf answers what more bases of each pattern would fill, most useful first. The patterns are those of the
// bases that the house has measured; two that fit the same heads with the same work are one.
func (w *Planning) WhatIf(ctx context.Context, numbers []string, more int) ([]Asked, error) {
	if more < 1 || more > 1000 {
		return nil, registry.Errorf(registry.Invalid,
			"with %d is no number of bases: type a whole number from 1 to 1000", more)
	}
	s, err := w.read(ctx, numbers)
	if err != nil {
		return nil, err
	}
	return s.whatIf(ctx, more)
}

func (s *inHand) whatIf(ctx context.Context, more int) ([]Asked, error) {
	now, err := match.Solve(s.problem)
	if err != nil {
		return nil, err
	}
	bases, err := s.w.Bases(ctx, func(*stock.Base) bool { return true })
	if err != nil {
		return nil, err
	}
	reserved := 0
	for _, sets := range s.sets {
		reserved += len(sets)
	}
	asked := []Asked{}
	if len(s.orders) == 0 {
		return asked, nil
	}
	seen := map[string]bool{}
	for i := range bases {
		b := &bases[i]
		like := fit.BaseOf(b)
		fits := func(head int) (int, bool) {
			score := fit.Judge(s.headFit[head], like, s.house)
			return score.Minutes, score.Usable()
		}
		takes := s.takes(fits)
		if takes == "" || seen[takes] {
			continue
		}
		seen[takes] = true
		if err := ctx.Err(); err != nil {
			return nil, err // each question takes as long as a whole match
		}
		filled, err := match.WhatIf(s.problem, fmt.Sprint(like), fits, more)
		if err != nil {
			return nil, err
		}
		asked = append(asked,
			Asked{Pattern: b.Name(), Like: b.Tag, Filled: reserved + filled, More: filled - now.Filled})
	}
	slices.SortStableFunc(asked, func(a, b Asked) int { return cmp.Compare(b.More, a.More) })
	return asked, nil
}

// takes writes which heads in stock a base takes, and with how much work; two bases for which it writes the
// same are alike.
func (s *inHand) takes(fits func(head int) (int, bool)) string {
	var takes strings.Builder
	seen := map[string]bool{}
	for i, h := range s.problem.Heads {
		if h.As&match.Treadle == 0 || seen[h.Pattern] {
			continue
		}
		seen[h.Pattern] = true
		if minutes, ok := fits(i); ok {
			fmt.Fprintf(&takes, "%d:%d ", i, minutes)
		}
	}
	return takes.String()
}
