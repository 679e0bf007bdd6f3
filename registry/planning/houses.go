package planning

import (
	"context"
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

// Driving is how few houses and pieces the rounds take, and whether fewer might do.
type Driving struct {
	Houses        int  `json:"houses"`
	HousesOptimal bool `json:"houses_optimal"` // no choice of fewer houses does: proved
	Pieces        int  `json:"pieces"`
	PiecesLeast   int  `json:"pieces_least"` // no choice from these houses does with fewer
}

// maxHouses is up to how many houses every choice of them is tried, each with a plan of its own.
const maxHouses = 6

// withHouses is the same question with those pieces of other houses among the stock that fill more places: of
// the fewest houses, and of these the fewest pieces.
func (s *inHand) withHouses(ctx context.Context) (*inHand, error) {
	var there []neighbours.House
	err := s.w.Store.View(ctx, func(r stock.Reader) (err error) {
		there, err = s.w.Neighbours.Standing(r)
		return err
	})
	if err != nil {
		return nil, err
	}
	best, err := s.with(there, everything).solved()
	if err != nil || best == nil {
		return s, err
	}
	proved := best.Optimal // every plan that was held against it, too
	enough := func(houses []neighbours.House) (bool, error) {
		plan, err := s.with(houses, everything).solved()
		if err == nil {
			err = ctx.Err()
		}
		proved = proved && (plan == nil || plan.Optimal)
		return plan != nil && s.problem.FillsAsMuch(*best, *plan), err
	}
	// Where fewer do, the word of those left out is the oldest.
	latest := slices.SortedStableFunc(slices.Values(there),
		func(a, b neighbours.House) int { return b.AsOf.Compare(a.AsOf) })
	var visited []neighbours.House
	if len(there) <= maxHouses {
		visited, err = neighbours.Fewest(latest, enough)
	} else {
		visited, err = neighbours.Fewer(latest, enough)
	}
	if err != nil {
		return nil, err
	}
	wanted, driving, err := s.with(visited, everything).fewestPieces()
	if err != nil {
		return nil, err
	}
	driving.Houses = len(visited)
	driving.HousesOptimal = proved && (len(there) <= maxHouses || len(visited) <= 1)
	out := s.with(there, func(tag registry.Tag) bool { return wanted[tag] })
	out.driving = driving
	for i := range there {
		if err := out.round(&there[i], s, there, wanted, *best); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func everything(registry.Tag) bool { return true }

// fewestPieces chooses as few pieces of other houses as fill as much.
func (s *inHand) fewestPieces() (wanted map[registry.Tag]bool, d *Driving, err error) {
	plan, _, used, least, err := match.Fewest(s.problem, s.pins, match.Dear{
		Head: func(i int) bool { return s.theirs[s.heads[i].Tag] != nil },
		Base: func(i int) bool { return s.theirs[s.bases[i].Tag] != nil }})
	return s.driven(plan), &Driving{Pieces: used, PiecesLeast: least}, err
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
