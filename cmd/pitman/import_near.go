package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pitman/registry/imports"
	"pitman/registry/misread"
	"pitman/registry/sheet"
)

// askNear offers to read misspelt words as what they are a slip away from; it says whether anything was
// agreed.
func (a *app) askNear(misses []imports.NearMiss, read map[misread.Word]string) (again bool, err error) {
	q := a.asker()
	for _, n := range misses {
		yes, err := q.yes(fmt.Sprintf("%s: read %q as %s, in %s?", n.Field, n.Value, n.Near,
			plural(n.Rows, "row")))
		if err != nil {
			return false, err
		}
		if yes {
			read[misread.Word{Field: n.Field, Value: n.Value}] = n.Near
			again = true
		}
	}
	return again, nil
}

// askTwins shows rows that may be one machine side by side, and asks what they are; it says whether anything
// was decided.
func (a *app) askTwins(file io.ReadSeeker, headerRow int, twins []imports.Twin, fields imports.Columns,
	decided map[int]imports.Decided) (now map[int]imports.Decided, again bool, err error) {
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return nil, false, err
	}
	beside, err := imports.SideBySide(file, headerRow, fields, twins)
	if err != nil {
		return nil, false, err
	}
	q := a.asker()
	for n, t := range twins {
		fmt.Fprintf(q.out, "%s:\n", t)
		columns(q.out, func(w io.Writer) {
			fmt.Fprintf(w, "  \trow %d\trow %d\n", t.As, t.Row)
			for _, b := range beside[n] {
				fmt.Fprintf(w, "  %s\t%.40s\t%.40s\n", b.Field, orDash(b.As), orDash(b.Row))
			}
		})
		choices := t.Choices()
		for i := range choices {
			choices[i] = fmt.Sprintf("%d %s", i+1, choices[i])
		}
		answer, err := q.line("  " + strings.Join(choices, ", ") + "; Enter decides nothing:")
		if err != nil {
			return nil, false, err
		}
		choice, _ := strconv.Atoi(answer)
		var is bool
		decided, is = t.Decide(choice, decided)
		again = again || is
	}
	return decided, again, nil
}

// settleWordsOf looks at each word in the file that is probably another, one of the house or one that stands
// in more rows of the file. On a terminal it asks; the answers go into read. Elsewhere it returns what is to
// be said once the file is in, since the typed words count. as names the field of which a word is asked,
// where it has another name in the file.
func (a *app) settleWordsOf(ctx context.Context, d *workplace, r *sheet.Reader, columns imports.Columns,
	asked []string, as map[string]string, read map[misread.Word]string) (said []string, err error) {
	words := d.Words()
	err = misread.Settle(misread.TypedIn(r, columns, asked, read), as, read, words.Also,
		func(field, maker string, t *misread.Typed) (string, error) {
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
