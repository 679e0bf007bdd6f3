// Package container lays pallets out on the floor of a freight container: how many stand on it, and where.
// Lengths are in millimetres. Pure.
package container

import (
	"encoding/binary"
	"slices"
)

// Box is a kind of freight container.
type Box struct {
	Name                  string
	Length, Width, Height int // the least inside
	Door                  int // the least height of its doors
	Payload               int // kilograms, by the rating less a usual tare
}

// The least insides are ISO 668's (1CC and 1AA). The payloads are its rating of 30 480 kg (since amendment 1
// of 2005; older boxes 24 000, newer plates more) less usual tares of 2 300 and 3 750 kg: the plate on the
// door decides. The doors are at least 2 134 mm high (ISO 668, from memory).
var (
	Twenty = Box{"20 ft", 5867, 2330, 2350, 2134, 28_180}
	Forty  = Box{"40 ft", 11_998, 2330, 2350, 2134, 26_730}
)

// Kind is so many pallets of one footprint.
type Kind struct{ Length, Width, Count int }

func (k Kind) area() int { return k.Length * k.Width }

// Spot is where a pallet stands, from the corner by the front wall; Length runs along the container.
type Spot struct{ X, Y, Length, Width, Kind int }

// Layout is a plan of a floor. Exact says that no plan puts more pallets on it; else at most Bound.
type Layout struct {
	Spots []Spot
	Exact bool
	Bound int
}

// looks bounds the search: beyond it the best plan found is given, and said to be no proof.
const looks = 20_000

// Lay puts as many pallets on a floor as it can, each along or across.
//
// It fills from the front wall: in the stretch of the width that is furthest back, the next pallet goes into
// one of its two corners, or the stretch stays empty up to its nearer neighbour. Any plan can be pushed to
// the front so, pallet by pallet, where two stand side by side; a stretch between two others may hide better
// ones, so a plan counts as proved only if it takes all pallets, as many as the area does, or the two corners
// were all there was to choose (at most two pallets side by side).
func Lay(floor Box, kinds []Kind) Layout {
	s := search{floor: floor, kinds: kinds, known: map[string]int{}, left: looks}
	counts := make([]int, len(kinds))
	total, shortest := 0, floor.Width
	for i, k := range kinds {
		counts[i] = k.Count
		total += k.Count
		shortest = min(shortest, k.Length, k.Width)
		s.bySize = append(s.bySize, i)
	}
	slices.SortFunc(s.bySize, func(a, b int) int { return kinds[a].area() - kinds[b].area() })
	start := []step{{0, floor.Width}}
	bound := s.bound(start, counts)
	best := s.most(start, counts)
	out := Layout{Bound: bound, Spots: s.trace(start, counts)}
	// Three side by side leave a stretch in the middle, which may be reached from corners only.
	twoAcross := 3*shortest > floor.Width
	out.Exact = best == total || best == bound || s.left > 0 && twoAcross
	if out.Exact {
		out.Bound = best
	}
	return out
}

// Fits says how many pallets of one footprint stand on a floor.
func Fits(floor Box, length, width int) int {
	if length <= 0 || width <= 0 {
		return 0
	}
	n := floor.Length * floor.Width / (length * width)
	return len(Lay(floor, []Kind{{length, width, n}}).Spots)
}

// Room says how many more pallets of one footprint stand on a floor beside those of these kinds, as far as a
// plan was found; nought where not even those do.
func Room(floor Box, kinds []Kind, length, width int) (more int) {
	if length <= 0 || width <= 0 {
		return 0
	}
	total, area := 0, floor.Length*floor.Width
	for _, k := range kinds {
		total += k.Count
		area -= k.Count * k.area()
	}
	for n := 1; n <= area/(length*width); n++ {
		if len(Lay(floor, append(slices.Clip(kinds), Kind{length, width, n})).Spots) < total+n {
			break
		}
		more = n
	}
	return more
}

// step is a stretch of the width, and how far it is filled.
type step struct{ x, width int }

type search struct {
	floor  Box
	kinds  []Kind
	bySize []int // the kinds, the one that takes the least of the floor first
	known  map[string]int
	left   int
}

// choice is what is done in the stretch that is furthest back: a pallet in its near or far corner, or
// nothing.
type choice struct {
	kind, length, width int
	far                 bool
	waste               bool
}

// bound is how many more pallets the rest of the floor could take if they were of any shape.
func (s *search) bound(line []step, counts []int) (n int) {
	free := 0
	for _, at := range line {
		free += (s.floor.Length - at.x) * at.width
	}
	for _, k := range s.bySize {
		fit := counts[k]
		if a := s.kinds[k].area(); a > 0 {
			fit = min(fit, free/a)
			free -= fit * a
		}
		n += fit
	}
	return n
}

// most is how many more pallets go in. It looks no further once as many do as could.
func (s *search) most(line []step, counts []int) int {
	var room [128]byte
	key := room[:0]
	for _, at := range line {
		key = binary.AppendUvarint(binary.AppendUvarint(key, uint64(at.x)), uint64(at.width))
	}
	for _, n := range counts { // as many as there are kinds, so that no two states share a key
		key = binary.AppendUvarint(key, uint64(n))
	}
	if n, ok := s.known[string(key)]; ok {
		return n
	}
	if s.left--; s.left < 0 {
		return s.greedy(line, counts)
	}
	best, bound := 0, s.bound(line, counts)
	for _, c := range s.choices(line, counts) {
		if best == bound {
			break
		}
		next, rest, gain := s.take(line, counts, c)
		best = max(best, gain+s.most(next, rest))
	}
	s.known[string(key)] = best
	return best
}

// greedy goes on with the first choice that puts something down, once the search may look no further.
func (s *search) greedy(line []step, counts []int) (n int) {
	for {
		all := s.choices(line, counts)
		if len(all) == 0 {
			return n
		}
		var gain int
		line, counts, gain = s.take(line, counts, all[0])
		n += gain
	}
}

func (s *search) trace(line []step, counts []int) (spots []Spot) {
	for {
		var best choice
		most, found, want := -1, false, s.most(line, counts)
		for _, c := range s.choices(line, counts) {
			if most == want {
				break // the others need not have been looked at
			}
			next, rest, gain := s.take(line, counts, c)
			if n := gain + s.most(next, rest); n > most {
				best, most, found = c, n, true
			}
		}
		if !found {
			return spots
		}
		if !best.waste {
			i, y := back(line)
			if best.far {
				y += line[i].width - best.width
			}
			spots = append(spots, Spot{line[i].x, y, best.length, best.width, best.kind})
		}
		line, counts, _ = s.take(line, counts, best)
	}
}

// back finds the stretch that is furthest back, and where it begins.
func back(line []step) (at, y int) {
	for i := range line {
		if line[i].x < line[at].x {
			at = i
		}
	}
	for i := range at {
		y += line[i].width
	}
	return at, y
}

func (s *search) choices(line []step, counts []int) (list []choice) {
	i, _ := back(line)
	for k, kind := range s.kinds {
		if counts[k] == 0 {
			continue
		}
		turns := [][2]int{{kind.Length, kind.Width}, {kind.Width, kind.Length}}
		if kind.Length == kind.Width {
			turns = turns[:1]
		}
		for _, t := range turns {
			if t[1] > line[i].width || line[i].x+t[0] > s.floor.Length {
				continue
			}
			list = append(list, choice{kind: k, length: t[0], width: t[1]})
			if t[1] < line[i].width && len(line) > 1 {
				list = append(list, choice{kind: k, length: t[0], width: t[1], far: true})
			}
		}
	}
	if len(line) > 1 {
		list = append(list, choice{waste: true})
	}
	return list
}

// take does a choice, and gives what is left.
func (s *search) take(line []step, counts []int, c choice) (next []step, rest []int, gain int) {
	i, _ := back(line)
	if c.waste {
		up := s.floor.Length
		if i > 0 {
			up = min(up, line[i-1].x)
		}
		if i+1 < len(line) {
			up = min(up, line[i+1].x)
		}
		next = slices.Clone(line)
		next[i].x = up
		return level(next), counts, 0
	}
	rest = slices.Clone(counts)
	rest[c.kind]--
	put, free := step{line[i].x + c.length, c.width}, step{line[i].x, line[i].width - c.width}
	pair := []step{put, free}
	if c.far {
		pair = []step{free, put}
	}
	if free.width == 0 {
		pair = []step{put}
	}
	return level(slices.Concat(line[:i], pair, line[i+1:])), rest, 1
}

// level joins neighbours that are filled alike.
func level(line []step) []step {
	out := line[:0:0]
	for _, s := range line {
		if n := len(out); n > 0 && out[n-1].x == s.x {
			out[n-1].width += s.width
			continue
		}
		out = append(out, s)
	}
	return out
}
