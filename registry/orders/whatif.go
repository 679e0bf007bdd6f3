package orders

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/match"
)

// Asked is what so many more bases of one pattern would do.
type Asked struct {
	Pattern string       `json:"pattern"`
	Like    registry.Tag `json:"like"` // a base of that pattern
	Filled  int          `json:"filled"`
	More    int          `json:"more"` // places more than now
}

// WhatIf answers what more bases of each pattern would fill, most useful first. The patterns are those of the bases that the house has
// measured; two that fit the same heads with the same work are one.
func WhatIf(ctx context.Context, w *registry.Workshop, numbers []string, more int) ([]Asked, error) {
	if more < 1 || more > 1000 {
		return nil, registry.Errorf(registry.Invalid, "with %d is no number of bases: type a whole number from 1 to 1000", more)
	}
	s, err := read(ctx, w, numbers)
	if err != nil {
		return nil, err
	}
	now, err := match.Solve(s.problem)
	if err != nil {
		return nil, err
	}
	bases, err := w.Bases(ctx, func(*registry.Base) bool { return true })
	if err != nil {
		return nil, err
	}
	asked := []Asked{}
	seen := map[string]bool{}
	for i := range bases {
		b := &bases[i]
		like := fit.BaseOf(b)
		fits := func(head int) (int, bool) {
			score := fit.Judge(s.headFit[head], like, s.house)
			return score.Minutes, score.Usable()
		}
		pattern := fmt.Sprint(like)
		if seen[pattern] || !s.fitsAny(fits) {
			continue
		}
		seen[pattern] = true
		filled, err := match.WhatIf(s.problem, pattern, fits, more)
		if err != nil {
			return nil, err
		}
		asked = append(asked, Asked{Pattern: b.Name(), Like: b.Tag, Filled: filled, More: filled - now.Filled})
	}
	slices.SortStableFunc(asked, func(a, b Asked) int { return cmp.Compare(b.More, a.More) })
	return asked, nil
}

func (s *stock) fitsAny(fits func(head int) (int, bool)) bool {
	seen := map[string]bool{}
	for i, h := range s.problem.Heads {
		if h.As&match.Treadle == 0 || seen[h.Pattern] {
			continue
		}
		seen[h.Pattern] = true
		if _, ok := fits(i); ok {
			return true
		}
	}
	return false
}
