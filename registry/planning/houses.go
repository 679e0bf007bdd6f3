package planning

import (
	"context"
	"maps"
	"slices"

	"pitman/registry"
	"pitman/registry/match"
	"pitman/registry/measure"
	"pitman/registry/neighbours"
	"pitman/registry/stock"
)

// Round is what a lorry round to another house would bring for open orders of this one. Nothing is reserved
// there: it is what to ask for.
type Round struct {
	House     string       `json:"house"`
	Letters   string       `json:"letters"`
	AsOf      string       `json:"as_of"`
	Days      int          `json:"days_ago"`
	Said      string       `json:"-"`     // the house and its day, for people
	Fills     int          `json:"fills"` // places that stay empty without this round
	Pieces    []Driven     `json:"pieces"`
	Weight    measure.Mass `json:"weight_kg"` // of those that were weighed
	Unweighed int          `json:"unweighed"`
}

// Driven is a head or base that would be driven here.
type Driven struct {
	Tag     registry.Tag `json:"tag"`
	Unit    string       `json:"unit"`
	Name    string       `json:"name"`
	Place   string       `json:"place"` // where it stands there
	Order   string       `json:"order"`
	Line    int          `json:"line"`
	With    registry.Tag `json:"with"`     // its base or head; empty for a head alone
	PassOf  bool         `json:"tested"`   // it takes the mains, and its pass was recorded there
	FromFar bool         `json:"with_far"` // what it goes with stands elsewhere, too
}

// maxLeftOut bounds how many pieces are tried without: each asks for a plan of its own.
const maxLeftOut = 60

// withHouses is the same question with those pieces of other houses among the stock that fill more places,
// and of these no more than that takes, as far as leaving out one after the other shows.
func (s *inHand) withHouses(ctx context.Context) (*inHand, error) {
	var there []neighbours.House
	err := s.w.Store.View(ctx, func(r stock.Reader) (err error) {
		there, err = s.w.Neighbours.Standing(r)
		return err
	})
	if err != nil {
		return nil, err
	}
	all := s.with(there, func(registry.Tag) bool { return true })
	best, err := all.solved()
	if err != nil || best == nil {
		return s, err
	}
	wanted := all.driven(*best)
	tries := 0
	without := func(left func(registry.Tag) bool) (*inHand, *match.Plan, error) {
		tries++
		fewer := s.with(there, func(tag registry.Tag) bool { return wanted[tag] && !left(tag) })
		plan, err := fewer.solved()
		if err != nil || plan == nil || !alike(*best, *plan) {
			return nil, nil, err
		}
		return fewer, plan, ctx.Err()
	}
	// a whole round first, of the oldest word; then piece by piece
	oldest := slices.Clone(there)
	slices.SortStableFunc(oldest, func(a, b neighbours.House) int { return a.AsOf.Compare(b.AsOf) })
	var steps []func(registry.Tag) bool
	for i := range oldest {
		steps = append(steps, func(tag registry.Tag) bool {
			return all.theirs[tag] != nil && all.theirs[tag].Letters == oldest[i].Letters
		})
	}
	for _, one := range slices.Backward(slices.Sorted(maps.Keys(wanted))) {
		steps = append(steps, func(tag registry.Tag) bool { return tag == one })
	}
	for _, left := range steps {
		if tries == maxLeftOut || !slices.ContainsFunc(slices.Collect(maps.Keys(wanted)), left) {
			continue
		}
		fewer, plan, err := without(left)
		if err != nil {
			return nil, err
		}
		if fewer != nil {
			wanted = fewer.driven(*plan)
		}
	}
	out := s.with(there, func(tag registry.Tag) bool { return wanted[tag] })
	for i := range there {
		if err := out.round(&there[i], s, there, wanted, *best); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// with is the same question with the ready heads and bases of other houses that are wanted.
func (s *inHand) with(there []neighbours.House, wanted func(registry.Tag) bool) *inHand {
	more := *s
	more.heads, more.bases = slices.Clip(s.heads), slices.Clip(s.bases)
	more.theirs = map[registry.Tag]*neighbours.House{}
	for i := range there {
		h := &there[i]
		for _, m := range h.Heads {
			if m.Stage == registry.Ready && wanted(m.Tag) {
				more.heads, more.theirs[m.Tag] = append(more.heads, m), h
			}
		}
		for _, b := range h.Bases {
			if b.Stage == registry.Ready && wanted(b.Tag) {
				more.bases, more.theirs[b.Tag] = append(more.bases, b), h
			}
		}
	}
	more.headFit, more.baseFit, more.problem = nil, nil, match.Problem{}
	more.pose()
	return &more
}

// solved is the best plan; nil where the pins have no places.
func (s *inHand) solved() (*match.Plan, error) {
	plan, ok, err := match.SolvePinned(s.problem, s.pins)
	if err != nil || !ok {
		return nil, err
	}
	return &plan, nil
}

// driven lists the pieces of other houses that a plan uses.
func (s *inHand) driven(plan match.Plan) map[registry.Tag]bool {
	used := map[registry.Tag]bool{}
	for _, sets := range plan.Sets {
		for _, set := range sets {
			if tag := s.heads[set.Head].Tag; s.theirs[tag] != nil {
				used[tag] = true
			}
			if set.Base >= 0 && s.theirs[s.bases[set.Base].Tag] != nil {
				used[s.bases[set.Base].Tag] = true
			}
		}
	}
	return used
}

// alike says whether two plans fill the same places, whatever fills them.
func alike(a, b match.Plan) bool {
	return slices.EqualFunc(a.Sets, b.Sets, func(x, y []match.Set) bool { return len(x) == len(y) })
}

// round sums up what would be driven here from one house, and how many places stay empty without.
func (s *inHand) round(h *neighbours.House, own *inHand, there []neighbours.House,
	wanted map[registry.Tag]bool, best match.Plan) error {
	r := Round{House: h.Name, Letters: h.Letters, AsOf: s.w.LocalDay(h.AsOf),
		Days: h.Age(s.w.Now()), Said: h.Said(s.w.Now(), s.w.Location()), Pieces: []Driven{}}
	plan, err := own.with(there, func(tag registry.Tag) bool {
		return wanted[tag] && s.theirs[tag].Letters != h.Letters
	}).solved()
	if err != nil {
		return err
	}
	if plan != nil {
		r.Fills = best.Filled - plan.Filled
	}
	s.rounds = append(s.rounds, r)
	return nil
}

// brings tells the rounds what a set of a proposal would have driven here.
func (s *inHand) brings(set *SetPlan, order string, line, head, base int) {
	tell := func(u stock.Unit, with registry.Tag, tested bool) {
		h := s.theirs[u.Tag]
		if h == nil {
			return
		}
		i := slices.IndexFunc(s.rounds, func(r Round) bool { return r.Letters == h.Letters })
		r := &s.rounds[i]
		r.Pieces = append(r.Pieces,
			Driven{Tag: u.Tag, Unit: u.Kind, Name: u.Name, Place: u.Place, Order: order,
				Line: line, With: with, PassOf: tested, FromFar: s.theirs[with] != nil})
		if r.Weight += u.Mass; u.Mass == 0 {
			r.Unweighed++
		}
	}
	m := &s.heads[head]
	var with registry.Tag
	if base >= 0 {
		with = s.bases[base].Tag
		tell(s.bases[base].Unit(), m.Tag, false)
		if h := s.theirs[with]; h != nil {
			set.BaseFrom = h.Letters
			set.Reasons = append(set.Reasons, string(with)+" stands at "+h.Name)
		}
	}
	tell(m.Unit(), with, m.TakesMains())
	if h := s.theirs[m.Tag]; h != nil {
		set.HeadFrom = h.Letters
		set.Reasons = append(set.Reasons, string(m.Tag)+" stands at "+h.Name)
		if m.TakesMains() {
			set.Reasons = append(set.Reasons,
				"its safety pass was recorded there: whether it counts here is seen when it comes")
		}
	}
}

// Elsewhere says whether a part of the set stands in another house.
func (s *SetPlan) Elsewhere() bool { return s.HeadFrom != "" || s.BaseFrom != "" }
