package serials

import (
	"fmt"

	"pitman/serials/clues"
	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/table"
)

// Clues returns the marks that can be seen on this maker's machines, the maker's own first.
func (t *Tables) Clues(maker string) (own []table.Clue) {
	var general []table.Clue
	m := t.maker(maker)
	key := names.MakerKey(maker)
	for _, c := range t.clues {
		switch {
		case c.Mark == table.Production:
		case c.Maker == "":
			general = append(general, c.Clue)
		case c.isOf(key, m):
			own = append(own, c.Clue)
		}
	}
	return append(own, general...)
}

// gather collects the clues of a query and tells each. The same mark counts once.
func (t *Tables) gather(a *Answer, q Query) {
	seen := map[string]bool{}
	take := func(c table.Clue) {
		key := fmt.Sprintf("%s %d %d", names.MakerKey(c.Mark), c.From, c.To)
		if !seen[key] {
			seen[key] = true
			a.clues = append(a.clues, c)
		}
	}
	m, key := t.maker(q.Maker), names.MakerKey(q.Maker)
	for _, c := range t.clues {
		if len(a.spans) > 0 {
			break // a row answers for the number, and says more
		}
		if c.Mark == table.Production && key != "" && c.isOf(key, m) {
			take(c.Clue)
		}
	}
	for _, typed := range q.Clues {
		found := clues.Find(t.Clues(q.Maker), typed)
		marks := map[string]bool{}
		var marked []string
		for _, c := range found {
			if k := names.MakerKey(c.Mark); !marks[k] {
				marks[k] = true
				marked = append(marked, c.Mark)
			}
		}
		switch {
		case len(marked) == 0:
			a.note("clue %s is in no table of marks, so it says nothing%s", stamp.Quoted(typed),
				t.marksOf(q.Maker))
		case len(marked) > 1:
			a.note("clue %s can be %s: say which; until then it says nothing", stamp.Quoted(typed),
				someOf(marked, 10))
		default:
			for _, c := range found {
				take(c)
			}
		}
	}
}

func (t *Tables) marksOf(maker string) string {
	var marks []string
	for _, c := range t.Clues(maker) {
		marks = addNew(marks, c.Mark)
	}
	if marks == nil {
		return ""
	}
	return "; there are " + someOf(marks, 10)
}
