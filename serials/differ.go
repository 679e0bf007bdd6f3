package serials

import (
	"cmp"
	"slices"
	"sort"

	"pitman/serials/names"
	"pitman/serials/series"
	"pitman/serials/table"
)

// Difference is a stretch of numbers to which two sets of tables give other years.
type Difference struct {
	Maker   string `json:"maker"`
	Numbers string `json:"numbers"`
	One     string `json:"one"`
	Other   string `json:"other"`
}

// Differences lists where two sets of tables differ, by maker and number. Where only one of them has rows,
// the other says unknown.
func (t *Tables) Differences(other *Tables) []Difference {
	out := []Difference{}
	keys := map[string]string{}
	for _, set := range []*Tables{t, other} {
		for _, name := range set.names {
			if key := names.MakerKey(name); keys[key] == "" {
				keys[key] = name
			}
		}
	}
	for key, name := range keys {
		a, b := t.makers[key], other.makers[key]
		prefixes := map[string]bool{}
		for _, m := range []*maker{a, b} {
			if m != nil {
				for prefix := range m.series {
					prefixes[prefix] = true
				}
			}
		}
		for prefix := range prefixes {
			out = append(out, differ(name, prefix, a.of(prefix), b.of(prefix))...)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Maker < out[j].Maker })
	return out
}

func (m *maker) of(prefix string) *series.Series {
	if m == nil {
		return nil
	}
	return m.series[prefix]
}

func differ(maker, prefix string, a, b *series.Series) (out []Difference) {
	var starts []uint64
	for _, s := range []*series.Series{a, b} {
		if s != nil {
			starts = append(starts, s.Starts...)
		}
	}
	slices.SortFunc(starts, cmp.Compare[uint64])
	starts = slices.Compact(starts)
	var last *Difference
	var row table.Row
	for i, n := range starts {
		one, other := said(a, n), said(b, n)
		if one == other {
			last = nil
			continue
		}
		if last == nil || last.One != one || last.Other != other {
			out = append(out, Difference{Maker: maker, One: one, Other: other})
			last = &out[len(out)-1]
			row = table.Row{Prefix: prefix, First: n}
		}
		row.Last = table.Number{}
		if i+1 < len(starts) {
			row.Last = table.Known(starts[i+1] - 1)
		}
		last.Numbers = row.Numbers()
	}
	return out
}

// said is the years that the rows leave to the numbers from n to the next cut.
func said(s *series.Series, n uint64) string {
	if s == nil {
		return "unknown"
	}
	return s.Segments[s.Find(n)].Year()
}

// With is the tables with one more file, in place of one of the same name.
func (t *Tables) With(file *table.Table) *Tables {
	files := slices.DeleteFunc(slices.Clone(t.files),
		func(f *table.Table) bool { return f.Name == file.Name })
	files = append(files, file)
	slices.SortFunc(files, func(a, b *table.Table) int { return cmp.Compare(a.Name, b.Name) })
	return NewTables(files...)
}
