package match

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"slices"
)

// stock is a problem sorted into groups of pieces that are alike in all that counts before their age.
type stock struct {
	p              Problem
	rank           []int // lines in the order in which they are served
	class          []int // for each line, the place of its priority and due date in that order
	dayBeforeFirst int   // the day before the oldest piece arrived

	priorities, dues []int // of the lines, each once, best first
	headAge, baseAge []int // place of each piece in the order of arrival

	groups []headGroup
	bases  [][]int   // groups of bases, each in the order of arrival
	work   [][]int32 // minutes for each row of headGroup and group of bases; misfit where they do not fit
}

// headGroup is heads that the same lines allow and that fit the same bases with the same work, in the order
// of arrival.
type headGroup struct {
	heads   []int
	row     int   // in stock.work
	treadle []int // lines that it can serve together with a base
	alone   []int // lines that it can serve without
}

// shared says that the heads may leave either way, which the flow alone does not decide.
func (g headGroup) shared() bool { return len(g.treadle) > 0 && len(g.alone) > 0 }

const misfit = -1

func newStock(p Problem) (*stock, error) {
	s := &stock{p: p, rank: byRank(p.Lines), class: make([]int, len(p.Lines))}
	for i := 1; i < len(s.rank); i++ {
		before, line := s.rank[i-1], s.rank[i]
		s.class[line] = s.class[before]
		if compareRank(p.Lines[before], p.Lines[line]) != 0 {
			s.class[line]++
		}
	}
	for _, l := range p.Lines {
		s.priorities, s.dues = append(s.priorities, -l.Priority), append(s.dues, l.Due)
	}
	slices.Sort(s.priorities)
	slices.Sort(s.dues)
	s.priorities, s.dues = slices.Compact(s.priorities), slices.Compact(s.dues)

	heads, bases := sequence(len(p.Heads)), sequence(len(p.Bases))
	slices.SortFunc(heads, func(a, b int) int {
		return cmp.Or(cmp.Compare(p.Heads[a].Arrived, p.Heads[b].Arrived),
			cmp.Compare(p.Heads[a].ID, p.Heads[b].ID))
	})
	slices.SortFunc(bases, func(a, b int) int {
		return cmp.Or(cmp.Compare(p.Bases[a].Arrived, p.Bases[b].Arrived),
			cmp.Compare(p.Bases[a].ID, p.Bases[b].ID))
	})
	for _, h := range heads[:min(1, len(heads))] {
		s.dayBeforeFirst = p.Heads[h].Arrived - 1
	}
	for _, b := range bases[:min(1, len(bases))] {
		if first := p.Bases[b].Arrived - 1; len(heads) == 0 || first < s.dayBeforeFirst {
			s.dayBeforeFirst = first
		}
	}
	s.headAge, s.baseAge = positionsIn(heads), positionsIn(bases)
	rowOf, err := s.sortBases(heads, bases)
	if err != nil {
		return nil, err
	}
	s.sortHeads(heads, rowOf)
	return s, nil
}

// sortBases asks for the work between patterns, and joins the patterns of either side that answer alike. It
// returns the row of each head pattern; patterns that fit nothing have none.
func (s *stock) sortBases(heads, bases []int) (rowOf map[string]int, err error) {
	headPatterns := firstOfEach(heads,
		func(h int) (string, bool) { return s.p.Heads[h].Pattern, s.p.Heads[h].As&Treadle != 0 })
	basePatterns := firstOfEach(bases, func(b int) (string, bool) { return s.p.Bases[b].Pattern, true })

	var rows [][]int32
	rowOf, known := map[string]int{}, map[string]int{}
	for _, h := range headPatterns {
		row, some := make([]int32, len(basePatterns)), false
		for i, b := range basePatterns {
			row[i] = misfit
			minutes, fits := s.p.Work(h, b)
			if !fits {
				continue
			}
			if minutes < 0 || minutes >= limit {
				return nil, fmt.Errorf("work of %d minutes between %s and %s: 0 to %d are possible", minutes,
					s.p.Heads[h].ID, s.p.Bases[b].ID, limit-1)
			}
			row[i], some = int32(minutes), true
		}
		if !some {
			continue
		}
		key := keyOf(row)
		at, ok := known[key]
		if !ok {
			at = len(rows)
			known[key] = at
			rows = append(rows, row)
		}
		rowOf[s.p.Heads[h].Pattern] = at
	}

	s.work = make([][]int32, len(rows))
	groupOf, known := map[string]int{}, map[string]int{}
	for i, b := range basePatterns {
		column, some := make([]int32, len(rows)), false
		for r := range rows {
			column[r] = rows[r][i]
			some = some || column[r] != misfit
		}
		if !some {
			continue
		}
		key := keyOf(column)
		at, ok := known[key]
		if !ok {
			at = len(s.bases)
			known[key] = at
			s.bases = append(s.bases, nil)
			for r := range rows {
				s.work[r] = append(s.work[r], column[r])
			}
		}
		groupOf[s.p.Bases[b].Pattern] = at
	}
	for _, b := range bases {
		if at, ok := groupOf[s.p.Bases[b].Pattern]; ok {
			s.bases[at] = append(s.bases[at], b)
		}
	}
	return rowOf, nil
}

func (s *stock) sortHeads(heads []int, rowOf map[string]int) {
	known := map[string]int{}
	for _, h := range heads {
		head := s.p.Heads[h]
		g := headGroup{row: misfit}
		row, fitsSome := rowOf[head.Pattern]
		for _, line := range s.rank {
			l := s.p.Lines[line]
			if l.Slots == 0 || l.Kind&head.As == 0 || l.Kind == Treadle && !fitsSome || s.p.Allows != nil &&
				!s.p.Allows(line, h) {
				continue
			}
			if l.Kind == Treadle {
				g.treadle, g.row = append(g.treadle, line), row
			} else {
				g.alone = append(g.alone, line)
			}
		}
		if len(g.treadle)+len(g.alone) == 0 {
			continue
		}
		key := keyOf([]int32{int32(g.row)}) + keyOf(g.treadle) + "|" + keyOf(g.alone)
		at, ok := known[key]
		if !ok {
			at = len(s.groups)
			known[key] = at
			s.groups = append(s.groups, g)
		}
		s.groups[at].heads = append(s.groups[at].heads, h)
	}
}

func positionsIn(order []int) []int {
	positions := make([]int, len(order))
	for i, piece := range order {
		positions[piece] = i
	}
	return positions
}

// firstOfEach picks the first piece of each pattern, leaving out pieces that do not count.
func firstOfEach(pieces []int, pattern func(int) (string, bool)) []int {
	var first []int
	seen := map[string]bool{}
	for _, piece := range pieces {
		if name, counts := pattern(piece); counts && !seen[name] {
			seen[name] = true
			first = append(first, piece)
		}
	}
	return first
}

func keyOf[T int | int32](list []T) string {
	var key []byte
	for _, v := range list {
		key = binary.AppendVarint(key, int64(v))
	}
	return string(key)
}
