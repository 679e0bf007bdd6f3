package serials

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/agnivade/levenshtein"

	"pitman/serials/names"
	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/table"
)

// Check returns every fault in the tables, by file and line: what could not be read, and what reads well but
// cannot be right.
func (t *Tables) Check() []table.Fault {
	c := &checker{faults: append([]table.Fault(nil), t.faults...)}
	c.spelling(t.files)
	seen := map[*maker]bool{}
	for _, m := range t.makers {
		if seen[m] {
			continue
		}
		seen[m] = true
		c.duplicates(m.rows)
		c.unformed(m)
		for _, s := range m.order {
			for _, rows := range byFile(s.Rows) {
				c.within(rows)
			}
			c.gaps(s)
			c.across(s)
		}
	}
	// to the message, since makers and files are gone through in any order
	slices.SortFunc(c.faults, func(a, b table.Fault) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Kind, b.Kind),
			cmp.Compare(a.Message, b.Message))
	})
	return c.faults
}

type checker struct{ faults []table.Fault }

func (c *checker) add(r table.Row, kind table.Kind, format string, args ...any) {
	c.faults = append(c.faults,
		table.Fault{File: r.File, Line: r.Line, Kind: kind, Message: fmt.Sprintf(format, args...)})
}

// place names a row for a message that already stands in its own file and line.
func place(r, seenFrom table.Row) string {
	if r.File == seenFrom.File {
		return fmt.Sprintf("line %d", r.Line)
	}
	return fmt.Sprintf("%s:%d", r.File, r.Line)
}

// spelling reports a maker whose name is written differently from its first row, once for each other
// spelling, and two makers whose long names differ by one letter.
func (c *checker) spelling(files []*table.Table) {
	first := map[string]table.Row{}
	told := map[string]bool{}
	var order []string
	for _, file := range files {
		for _, r := range file.Rows {
			key := names.MakerKey(r.Maker)
			other, ok := first[key]
			if !ok {
				first[key] = r
				order = append(order, key)
				continue
			}
			if r.Maker != other.Maker && !told[r.Maker] {
				told[r.Maker] = true
				c.add(r, table.SpeltTwice, "maker %q is spelt %q at %s: use one spelling", r.Maker,
					other.Maker,
					place(other, r))
			}
		}
	}
	if len(order) > 2000 {
		return // every pair is compared below; so many makers are not a table made by hand
	}
	for i, key := range order {
		for _, earlier := range order[:i] {
			if min(len(key), len(earlier)) >= 6 && !hasDigit(key) &&
				levenshtein.ComputeDistance(key, earlier) == 1 {
				r, other := first[key], first[earlier]
				c.add(r, table.SpeltTwice, "maker %q is one letter off %q at %s: use one spelling", r.Maker,
					other.Maker, place(other, r))
			}
		}
	}
}

func hasDigit(s string) bool {
	for i := 0; i < len(s); i++ {
		if stamp.IsDigit(s[i]) {
			return true
		}
	}
	return false
}

// duplicates reports a row that says nothing new: every column but the note is the same.
func (c *checker) duplicates(rows []table.Row) {
	first := map[table.Row]table.Row{}
	for _, r := range rows {
		k := r
		k.Maker, k.Note, k.File, k.Line, k.Padded, k.Written = "", "", "", 0, false, ""
		k.Confidence = 0
		if other, ok := first[k]; ok {
			c.add(r, table.Duplicate, "the row repeats %s: delete one of the two", place(other, r))
			continue
		}
		first[k] = r
	}
}

// neighbours keeps two of the rows gone through so far: the last, and the one with the highest last number.
// It does so for each works and model, since those number their machines separately, and for any, since a row
// that names neither goes with all.
type neighbours map[[2]string]neighbour

type neighbour struct{ before, high int } // places among the rows

const anyOf = "\x00" // no table file holds it

func (n neighbours) add(rows []table.Row, i int) {
	for _, works := range [...]string{rows[i].Works, anyOf} {
		for _, model := range [...]string{rows[i].Model, anyOf} {
			key := [2]string{works, model}
			near, ok := n[key]
			if !ok || higher(rows[i], rows[near.high]) {
				near.high = i
			}
			near.before = i
			n[key] = near
		}
	}
}

// of returns the neighbours of a row among those that it can be compared with.
func (n neighbours) of(rows []table.Row, r table.Row) (near neighbour, ok bool) {
	for _, works := range kin(r.Works) {
		for _, model := range kin(r.Model) {
			one, found := n[[2]string{works, model}]
			if !found {
				continue
			}
			if !ok || higher(rows[one.high], rows[near.high]) {
				near.high = one.high
			}
			near.before = max(near.before, one.before)
			ok = true
		}
	}
	return near, ok
}

func kin(name string) []string {
	if name == "" {
		return []string{anyOf}
	}
	return []string{name, ""}
}

func higher(a, b table.Row) bool { return a.Last.Known && (!b.Last.Known || a.Last.N > b.Last.N) }

// within compares the rows of one prefix in one file, which stand in the order of their numbers.
func (c *checker) within(rows []table.Row) {
	so := neighbours{}
	for i, r := range rows {
		near, ok := so.of(rows, r)
		so.add(rows, i)
		if !ok {
			continue
		}
		before, high := rows[near.before], rows[near.high]
		switch {
		case r.First == before.First && r.Last == before.Last:
			if r.From != before.From || r.To != before.To {
				later, other := inOrder(r, before)
				c.add(later, table.Repeated,
					"the range %s stands at %s already, with %s there and %s here: keep the right one",
					r.Numbers(), place(other, later), other.Years(), later.Years())
			} else if r.Source != before.Source || r.Model != before.Model || r.Works != before.Works {
				later, other := inOrder(r, before)
				c.add(later, table.Repeated, "the range %s stands at %s already: keep one of the two",
					r.Numbers(),
					place(other, later))
			} // otherwise it is a duplicate row, told by itself
		case high.Last.Known && r.First <= high.Last.N:
			later, other := inOrder(r, high)
			both := table.Row{Prefix: r.Prefix, First: r.First,
				Last: table.Known(lowest(high.Last.N, r.Last))}
			c.add(later, table.Overlapping,
				"the range %s overlaps %s at %s: both hold %s, so mend a first or a last",
				later.Numbers(), other.Numbers(), place(other, later), both.Numbers())
		case r.From < before.From || r.To < before.To:
			c.add(r, table.Backwards,
				"%s here, but %s for the lower numbers %s at %s: mend the year or the numbers",
				r.Years(), before.Years(), before.Numbers(), place(before, r))
		}
	}
}

func lowest(n uint64, last table.Number) uint64 {
	if last.Known {
		return min(n, last.N)
	}
	return n
}

// inOrder puts the row that stands further down its file first: that is where the fault is told.
func inOrder(a, b table.Row) (later, earlier table.Row) {
	if a.Line >= b.Line {
		return a, b
	}
	return b, a
}

// gaps reports numbers that no file covers. An open row leaves no gap: it ends where the next begins.
func (c *checker) gaps(s *series.Series) {
	for i := 1; i < len(s.Rows); i++ {
		if end, first := s.Top[i-1], s.Rows[i].First; end < first && end+1 < first {
			c.add(s.Rows[i], table.Gap,
				"no row before this one holds %s: add the row that is missing, or mend a first or a last",
				table.Row{Prefix: s.Prefix, First: end + 1, Last: table.Known(first - 1)}.Numbers())
		}
	}
}

// across reports where two files give other years for the same numbers: once for each pair of files and
// prefix.
func (c *checker) across(s *series.Series) {
	files := map[string]neighbours{}
	told := map[[2]string]bool{}
	for i, r := range s.Rows {
		for file, so := range files {
			pair := [2]string{min(file, r.File), max(file, r.File)}
			near, ok := so.of(s.Rows, r)
			if !ok || file == r.File || told[pair] {
				continue
			}
			o := s.Rows[near.high]
			if !o.Last.Known || !r.Last.Known || o.Last.N < r.First {
				continue
			}
			if r.From != o.From || r.To != o.To {
				told[pair] = true
				c.add(r, table.Disagree,
					"%s is %s here and %s is %s at %s: find out which source is right, or keep both and "+
						"see both years",
					r.Numbers(), r.Years(), o.Numbers(), o.Years(), place(o, r))
			}
		}
		if files[r.File] == nil {
			files[r.File] = neighbours{}
		}
		files[r.File].add(s.Rows, i)
	}
}

func byFile(rows []table.Row) [][]table.Row {
	var files []string
	split := map[string][]table.Row{}
	for _, r := range rows {
		if split[r.File] == nil {
			files = append(files, r.File)
		}
		split[r.File] = append(split[r.File], r)
	}
	var out [][]table.Row
	for _, f := range files {
		out = append(out, split[f])
	}
	return out
}
