package main

import (
	"cmp"
	"context"
	"fmt"

	"pitman/registry/exchange"
	"pitman/registry/sheet"
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

// settleWordsOf looks at each word in the file that is probably another, one of the house or one that stands
// in more rows of the file. On a terminal it asks; the answers go into read. Elsewhere it returns what is to
// be said once the file is in, since the typed words count. as names the field of which a word is asked,
// where it has another name in the file.
func (a *app) settleWordsOf(ctx context.Context, d *workplace, r *sheet.Reader, columns exchange.Columns,
	asked []string, as map[string]string, read map[exchange.Misread]string) (said []string, err error) {
	words := d.Words()
	for _, t := range exchange.TypedIn(r, columns, asked, read) {
		field := cmp.Or(as[t.Field], t.Field)
		maker := t.Maker
		if meant, ok := read[exchange.Misread{Field: "maker", Value: maker}]; ok {
			maker = meant
		}
		h, ask, err := words.Hint(ctx, field, maker, t.Value)
		if err != nil {
			return nil, err
		}
		meant := t.Value
		switch {
		case !ask:
		case !a.onTerminal():
			said = append(said, fmt.Sprintf("%s (%s)", h.Says(), plural(t.Rows, "row")))
		default:
			if meant, err = a.settle(a.asker(), h, t.Rows); err != nil {
				return nil, err
			}
		}
		if meant != t.Value {
			read[exchange.Misread{Field: t.Field, Value: t.Value}] = meant
		} else {
			words.Also(field, maker, t.Value)
		}
	}
	return said, nil
}
