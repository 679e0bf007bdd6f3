package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

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

// askTwins shows rows that may be one machine side by side, and asks what they are; it says whether anything
// was decided.
func (a *app) askTwins(file io.ReadSeeker, headerRow int, twins []exchange.Twin, fields exchange.Columns,
	decided map[int]exchange.Decided) (again bool, err error) {
	wanted := map[int][]string{}
	for _, t := range twins {
		wanted[t.Row], wanted[t.As] = nil, nil
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return false, err
	}
	r, err := sheet.OpenAt(file, func(string) bool { return false }, headerRow)
	for err == nil {
		var cells []string
		if cells, _, err = r.Read(); err != nil {
			break
		}
		if _, is := wanted[r.Row()]; is {
			wanted[r.Row()] = slices.Clone(cells)
		}
	}
	if !errors.Is(err, io.EOF) {
		return false, err
	}
	q := a.asker()
	for _, t := range twins {
		fmt.Fprintf(q.out, "%s %s stands in row %d and in row %d:\n", t.Maker, t.Serial, t.As, t.Row)
		one, other := wanted[t.As], wanted[t.Row]
		columns(q.out, func(w io.Writer) {
			fmt.Fprintf(w, "  \trow %d\trow %d\n", t.As, t.Row)
			for i, field := range fields {
				if x, y := cellAt(one, i), cellAt(other, i); field != "" && x != y {
					fmt.Fprintf(w, "  %s\t%.40s\t%.40s\n", field, orDash(x), orDash(y))
				}
			}
		})
		answer, err := q.line(fmt.Sprintf(
			"  1 two machines, 2 one: leave out row %d, 3 one: leave out row %d; Enter decides nothing:",
			t.Row, t.As))
		if err != nil {
			return false, err
		}
		switch answer {
		case "1":
			decided[t.Row], again = exchange.Another, true
		case "2":
			decided[t.Row], again = exchange.LeftOut, true
		case "3":
			decided[t.As], again = exchange.LeftOut, true
		}
	}
	return again, nil
}

func cellAt(cells []string, i int) string {
	if i >= len(cells) {
		return ""
	}
	return strings.Join(strings.Fields(cells[i]), " ")
}

// settleWordsOf looks at each word in the file that is probably another, one of the house or one that stands
// in more rows of the file. On a terminal it asks; the answers go into read. Elsewhere it returns what is to
// be said once the file is in, since the typed words count. as names the field of which a word is asked,
// where it has another name in the file.
func (a *app) settleWordsOf(ctx context.Context, d *workplace, r *sheet.Reader, columns exchange.Columns,
	asked []string, as map[string]string, read map[exchange.Misread]string) (said []string, err error) {
	words := d.Words()
	err = exchange.SettleWords(exchange.TypedIn(r, columns, asked, read), as, read, words.Also,
		func(field, maker string, t *exchange.Typed) (string, error) {
			h, ask, err := words.Hint(ctx, field, maker, t.Value)
			switch {
			case err != nil || !ask:
				return t.Value, err
			case !a.onTerminal():
				said = append(said, fmt.Sprintf("%s (%s)", h.Says(), plural(t.Rows, "row")))
				return t.Value, nil
			}
			return a.settle(a.asker(), h, t.Rows)
		})
	return said, err
}
