package serials

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/agnivade/levenshtein"
)

// Check returns every fault in the tables, by file and line: what could not be read, and what reads well but cannot be right.
func (t *Tables) Check() []Fault {
	c := &checker{faults: append([]Fault(nil), t.faults...)}
	c.spelling(t.files)
	seen := map[*maker]bool{}
	for _, m := range t.makers {
		if seen[m] {
			continue
		}
		seen[m] = true
		c.duplicates(m.rows)
		for _, s := range m.order {
			for _, rows := range byFile(s.rows) {
				c.within(rows)
			}
			c.gaps(s)
			c.across(s)
		}
	}
	slices.SortFunc(c.faults, func(a, b Fault) int { // to the message, since makers and files are gone through in any order
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Message, b.Message))
	})
	return c.faults
}

type checker struct{ faults []Fault }

func (c *checker) add(r Row, kind Kind, format string, args ...any) {
	c.faults = append(c.faults, Fault{File: r.File, Line: r.Line, Kind: kind, Message: fmt.Sprintf(format, args...)})
}

// place names a row for a message that already stands in its own file and line.
func place(r, seenFrom Row) string {
	if r.File == seenFrom.File {
		return fmt.Sprintf("line %d", r.Line)
	}
	return fmt.Sprintf("%s:%d", r.File, r.Line)
}

// spelling reports a maker whose name is written differently from its first row, once for each other spelling, and two
// makers whose long names differ by one letter.
func (c *checker) spelling(files []*Table) {
	first := map[string]Row{}
	told := map[string]bool{}
	var order []string
	for _, file := range files {
		for _, r := range file.Rows {
			key := MakerKey(r.Maker)
			other, ok := first[key]
			if !ok {
				first[key] = r
				order = append(order, key)
				continue
			}
			if r.Maker != other.Maker && !told[r.Maker] {
				told[r.Maker] = true
				c.add(r, Spelling, "maker %q is spelt %q at %s: use one spelling", r.Maker, other.Maker, place(other, r))
			}
		}
	}
	if len(order) > 2000 {
		return // every pair is compared below; so many makers are not a table made by hand
	}
	for i, key := range order {
		for _, earlier := range order[:i] {
			if min(len(key), len(earlier)) >= 6 && !hasDigit(key) && levenshtein.ComputeDistance(key, earlier) == 1 {
				r, other := first[key], first[earlier]
				c.add(r, Spelling, "maker %q is one letter off %q at %s: use one spelling", r.Maker, other.Maker, place(other, r))
			}
		}
	}
}

func hasDigit(s string) bool {
	for i := 0; i < len(s); i++ {
		if isDigit(s[i]) {
			return true
		}
	}
	return false
}

// duplicates reports a row that says nothing new: every column but the note is the same.
func (c *checker) duplicates(rows []Row) {
	first := map[Row]Row{}
	for _, r := range rows {
		k := r
		k.Maker, k.Note, k.File, k.Line, k.padded = "", "", "", 0, false
		if other, ok := first[k]; ok {
			c.add(r, Duplicate, "the row repeats %s: delete one of the two", place(other, r))
			continue
		}
		first[k] = r
	}
}

// apart says that two rows number their machines separately: other works or another model.
func apart(a, b Row) bool {
	return a.Works != "" && b.Works != "" && a.Works != b.Works || a.Model != "" && b.Model != "" && a.Model != b.Model
}

// within compares the rows of one prefix in one file, which stand in the order of their numbers.
func (c *checker) within(rows []Row) {
	if len(rows) == 0 {
		return
	}
	high := rows[0] // the row with the highest last number so far
	for i, r := range rows[1:] {
		before := rows[i]
		switch {
		case apart(r, high) || apart(r, before):
		case r.First == before.First && r.Last == before.Last:
			if r.From != before.From || r.To != before.To {
				later, other := inOrder(r, before)
				c.add(later, Repeated, "the range %s stands at %s already, with %s there and %s here: keep the right one",
					r.Numbers(), place(other, later), other.Years(), later.Years())
			} else if r.Source != before.Source || r.Model != before.Model || r.Works != before.Works {
				later, other := inOrder(r, before)
				c.add(later, Repeated, "the range %s stands at %s already: keep one of the two", r.Numbers(), place(other, later))
			} // otherwise it is a duplicate row, told by itself
		case high.Last.Known && r.First <= high.Last.N:
			later, other := inOrder(r, high)
			both := Row{Prefix: r.Prefix, First: r.First, Last: known(lowest(high.Last.N, r.Last))}
			c.add(later, Overlapping, "the range %s overlaps %s at %s: both hold %s, so mend a first or a last",
				later.Numbers(), other.Numbers(), place(other, later), both.Numbers())
		case r.From < before.From || r.To < before.To:
			c.add(r, Backwards, "%s here, but %s for the lower numbers %s at %s: mend the year or the numbers",
				r.Years(), before.Years(), before.Numbers(), place(before, r))
		}
		if r.Last.Known && (!high.Last.Known || r.Last.N > high.Last.N) {
			high = r
		}
	}
}

func lowest(n uint64, last Number) uint64 {
	if last.Known {
		return min(n, last.N)
	}
	return n
}

// inOrder puts the row that stands further down its file first: that is where the fault is told.
func inOrder(a, b Row) (later, earlier Row) {
	if a.Line >= b.Line {
		return a, b
	}
	return b, a
}

// gaps reports numbers that no file covers. An open row leaves no gap: it ends where the next begins.
func (c *checker) gaps(s *series) {
	for i := 1; i < len(s.cells); i++ {
		if end := s.top[i-1]; end < s.first[i] && end+1 < s.first[i] {
			c.add(s.rows[i], Gap, "no row before this one holds %s: add the row that is missing, or mend a first or a last",
				Row{Prefix: s.prefix, First: end + 1, Last: known(s.first[i] - 1)}.Numbers())
		}
	}
}

// across reports where two files give other years for the same numbers: once for each pair of files and prefix.
func (c *checker) across(s *series) {
	high := map[string]int{} // for each file, the place of its row with the highest last number so far
	told := map[[2]string]bool{}
	for i, r := range s.rows {
		for file, j := range high {
			o, pair := s.rows[j], [2]string{file, r.File}
			if file == r.File || told[pair] || s.cells[j].open || s.cells[i].open || s.cells[j].last < r.First || apart(r, o) {
				continue
			}
			if r.From != o.From || r.To != o.To {
				told[pair], told[[2]string{r.File, file}] = true, true
				c.add(r, Disagree, "%s is %s here and %s is %s at %s: find out which source is right, or keep both and see both years",
					r.Numbers(), r.Years(), o.Numbers(), o.Years(), place(o, r))
			}
		}
		if j, ok := high[r.File]; !ok || s.cells[i].last > s.cells[j].last {
			high[r.File] = i
		}
	}
}

func byFile(rows []Row) [][]Row {
	var files []string
	split := map[string][]Row{}
	for _, r := range rows {
		if split[r.File] == nil {
			files = append(files, r.File)
		}
		split[r.File] = append(split[r.File], r)
	}
	var out [][]Row
	for _, f := range files {
		out = append(out, split[f])
	}
	return out
}
