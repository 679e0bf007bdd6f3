package house

import (
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/lists"
	"pitman/registry/mains"
	"pitman/registry/spares"
)

// A house adds to the built-in points, and to the jobs and parts after which a safety pass stands no longer.
// It takes one away in house.toml, where whoever answers for the house decides, and not with a list.

// keptLists are the lists of a house with what no list takes away.
func keptLists(l Lists, c *Config) Lists {
	l.Bench.Points = kept(l.Bench.Points, "points.csv", func(own, built []bench.TestPoint) []bench.TestPoint {
		points, _ := bench.KeepPoints(own, built, c.Test.WithoutPoints)
		return points
	})
	l.Bench.Jobs = kept(l.Bench.Jobs, "jobs.csv", func(own, built []bench.BenchJob) []bench.BenchJob {
		keepElectrical(own, built, jobFlag, c.Safety.NotElectrical)
		return own
	})
	l.Spares.Parts = kept(l.Spares.Parts, "parts.csv", func(own, built []spares.PartKind) []spares.PartKind {
		keepElectrical(own, built, partFlag, c.Safety.NotElectrical)
		return own
	})
	return l
}

func kept[T any](read func() ([]T, error), name string, keep func(own, built []T) []T) func() ([]T, error) {
	if read == nil {
		return nil
	}
	return func() ([]T, error) {
		own, err := read()
		if err != nil {
			return nil, err
		}
		built, err := lists.BuiltIn[T](name)
		if err != nil {
			return nil, err
		}
		return keep(slices.Clone(own), built), nil
	}
}

// flag is the word of a row and whether it is electrical.
type flag[T any] func(row *T) (word string, electrical *registry.YesNo)

func jobFlag(j *bench.BenchJob) (string, *registry.YesNo) { return j.Key(), &j.Electrical }

func partFlag(p *spares.PartKind) (string, *registry.YesNo) { return p.Key(), &p.Electrical }

// keepElectrical sets the flag of each row that is electrical where it is built in, and names those that a
// list had called otherwise. except is what house.toml lets go.
func keepElectrical[T any](own, built []T, of flag[T], except []string) (unflagged []string) {
	for i := range built {
		word, electrical := of(&built[i])
		if !*electrical {
			continue
		}
		for j := range own {
			if name, mine := of(&own[j]); name == word && !bool(*mine) {
				unflagged = append(unflagged, word)
				*mine = registry.YesNo(!slices.Contains(except, word))
			}
		}
	}
	return unflagged
}

// ListNotes says what the lists of the house leave out of the built-in ones, and what becomes of it. None of
// it is a fault.
func (h *House) ListNotes() (notes []string, err error) {
	note := func(name, what string, words, except []string, key string) {
		var stay, gone []string
		for _, word := range words {
			if slices.Contains(except, word) || slices.Contains(except, "all") && name == "points.csv" {
				gone = append(gone, word)
			} else {
				stay = append(stay, word)
			}
		}
		if len(stay) > 0 {
			notes = append(notes,
				fmt.Sprintf("lists/%s %s %s, and it counts all the same: only house.toml takes it away "+
					"(%s)", name, what, strings.Join(stay, ", "), key))
		}
		if len(gone) > 0 {
			notes = append(notes, fmt.Sprintf("house.toml (%s) lets lists/%s go without: %s", key, name,
				strings.Join(gone, ", ")))
		}
	}
	points, err := own(h.Lists.Bench.Points, "points.csv")
	if err != nil {
		return nil, err
	}
	_, missing := bench.KeepPoints(points.own, points.built, []string{"all"})
	note("points.csv", "leaves out or narrows", missing, h.Config.Test.WithoutPoints,
		"without_points under [test]")
	jobs, err := own(h.Lists.Bench.Jobs, "jobs.csv")
	if err != nil {
		return nil, err
	}
	const key = "not_electrical under [safety]"
	except := h.Config.Safety.NotElectrical
	note("jobs.csv", "calls not electrical", keepElectrical(jobs.own, jobs.built, jobFlag, nil), except, key)
	parts, err := own(h.Lists.Spares.Parts, "parts.csv")
	if err != nil {
		return nil, err
	}
	note("parts.csv", "calls not electrical", keepElectrical(parts.own, parts.built, partFlag, nil), except,
		key)
	kits, err := h.Lists.Spares.Kits()
	if err != nil {
		return nil, err
	}
	for _, row := range kits {
		if mains.IsPlug(row.Part) {
			notes = append(notes, fmt.Sprintf("lists/kits.csv has %s, which is passed over: no kit carries "+
				"a loose mains plug", row.Part))
		}
	}
	return notes, nil
}

// both are the rows of a house's list and of the built-in one.
type both[T any] struct{ own, built []T }

func own[T any](read func() ([]T, error), name string) (b both[T], err error) {
	if b.own, err = read(); err != nil {
		return b, err
	}
	b.built, err = lists.BuiltIn[T](name)
	return b, err
}
