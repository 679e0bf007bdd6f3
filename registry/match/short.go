package match

// Reason says why places of a line stay empty.
type Reason string

const (
	NoHead     Reason = "no head left in stock is of this kind and within the line's limits"
	HeadsTaken Reason = "every such head fills another place"
	NoBase     Reason = "no base in stock fits the heads that are left"
	BasesTaken Reason = "every base that fits the heads that are left fills another place"
)

// Shortfall is what a plan leaves empty of one line. Spare lists the heads that the line would take and that
// are left over: what keeps them from the bases left over are the nearest misses.
type Shortfall struct {
	Slots  int
	Reason Reason
	Spare  []int
}

// Shortfalls says for each line of a problem what a plan leaves empty, and why.
func Shortfalls(p Problem, plan Plan) []Shortfall {
	used := make([]bool, len(p.Heads))
	for _, list := range plan.Sets {
		for _, set := range list {
			used[set.Head] = true
		}
	}
	fitted := map[string]bool{} // patterns of heads, and whether any base fits
	fitsSome := func(head int) bool {
		pattern := p.Heads[head].Pattern
		fits, known := fitted[pattern]
		for base := 0; !known && !fits && base < len(p.Bases); base++ {
			_, fits = p.Work(head, base)
		}
		fitted[pattern] = fits
		return fits
	}
	shortfalls := make([]Shortfall, len(p.Lines))
	for line, l := range p.Lines {
		s := &shortfalls[line]
		if s.Slots = l.Slots - len(plan.Sets[line]); s.Slots == 0 {
			continue
		}
		s.Reason = NoHead
		for head, h := range p.Heads {
			if h.As&l.Kind == 0 || p.Allows != nil && !p.Allows(line, head) {
				continue
			}
			if !used[head] {
				s.Spare = append(s.Spare, head)
			} else if s.Reason == NoHead {
				s.Reason = HeadsTaken
			}
		}
		if len(s.Spare) > 0 {
			s.Reason = NoBase
		}
		for _, head := range s.Spare {
			if fitsSome(head) {
				s.Reason = BasesTaken
			}
		}
	}
	return shortfalls
}
