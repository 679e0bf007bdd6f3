package main

import (
	"context"
	"fmt"
	"io"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/stock"
)

// printBlank prints tags ahead, for a day on which many things come in. Each number is given once, also one
// that is only looked at: it stands on a picture that somebody may print.
func (a *app) printBlank(ctx context.Context, d *workplace, s *labels.Scheme, q *labelRequest,
	args []string) error {
	if len(args) > 0 {
		return registry.Errorf(registry.Invalid, "--blank gives tags that are not given yet: leave %s out",
			args[0])
	}
	on, err := a.stock(d.house.Dir, s, q, true)
	if err != nil {
		return err
	}
	var by registry.Initials
	if a.hasActor() {
		if by, err = a.actor(); err != nil {
			return err
		}
	}
	var out laid
	result := printed{File: q.out.name, Stock: on.Name, Tags: []string{}}
	_, err = d.BlankTags(ctx, by, q.blank, func(tx stock.Tx, tags []registry.Tag) error {
		var each []named
		var drawings []*labels.Drawing
		for _, tag := range tags {
			f, err := labels.Blank{Tag: string(tag)}.Face(s)
			if err != nil {
				return err
			}
			drawn, err := labels.Draw(f, on, s, q.device(on))
			if err != nil {
				return err
			}
			each = append(each, named{string(tag), on.Alone(drawn, q.sheet)})
			drawings, result.Tags = append(drawings, drawn), append(result.Tags, string(tag))
		}
		out, err = q.place(ctx, tx, a.now(), batch{on, q.device(on), drawings, each})
		result.Labels = len(each)
		result.tell(q, out)
		return err
	})
	if err != nil {
		return err
	}
	return a.print(result, func(w io.Writer) {
		which := result.Tags[0]
		if n := len(result.Tags); n > 1 {
			which += " to " + result.Tags[n-1]
		}
		fmt.Fprintf(w, "%s, %s, on %s of %s: scan one with pitman log --tag TAG as it is tied on.\n",
			plural(result.Labels, "blank tag"), which,
			plural(result.Sheets, "sheet"), on.Name)
		out.tell(w, on, q)
	})
}
