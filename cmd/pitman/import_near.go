package main

import (
	"fmt"
	"os"

	"pitman/registry/exchange"
	"pitman/registry/makers"
)

// askNear offers to read misspelt words as what they are a slip away from; it says whether anything was
// agreed.
func (a *app) askNear(misses []exchange.NearMiss, read map[exchange.Misread]string) (again bool, err error) {
	q := a.asker()
	for _, n := range misses {
		yes, err := q.yes(fmt.Sprintf("%s: read %q as %s, in %s?", n.Field, n.Value, n.Near,
			plural(n.Rows, "row")))
		if err != nil {
			return false, err
		}
		if yes {
			read[exchange.Misread{Field: n.Field, Value: n.Value}] = n.Near
			again = true
		}
	}
	return again, nil
}

// settleMakersOf asks of each maker in the file that is probably another; the answers go into read. What it
// asks of the columns it returns.
func (a *app) settleMakersOf(d *workplace, file *os.File, given map[string]string,
	read map[exchange.Misread]string, hint func(string) (makers.Hint, bool)) ([]exchange.ColumnName, error) {
	r, columns, fresh, err := a.openSheet(d, file, given, nil, &exchange.Result{})
	if err != nil || r == nil {
		return fresh, err
	}
	q := a.asker()
	for _, maker := range exchange.Makers(r, columns) {
		meant, err := a.settleMaker(q, hint, maker)
		if err != nil {
			return nil, err
		}
		if meant != maker {
			read[exchange.Misread{Field: "maker", Value: maker}] = meant
		}
	}
	return fresh, nil
}

// nameNear names the makers of new machines that are probably others; what was typed counts. On a terminal
// they were asked already.
func (a *app) nameNear(hint func(string) (makers.Hint, bool), rows []exchange.Outcome) {
	if a.onTerminal() {
		return
	}
	counts := map[string]int{}
	var typed []string
	for _, o := range rows {
		if o.Does != exchange.RowNew {
			continue
		}
		if counts[o.Maker]++; counts[o.Maker] == 1 {
			typed = append(typed, o.Maker)
		}
	}
	for _, name := range typed {
		if h, ask := hint(name); ask {
			fmt.Fprintf(a.err, "%s (%s)\n", h.Says(), plural(counts[name], "row"))
		}
	}
}
