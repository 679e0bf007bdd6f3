package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/stock"
)

// labelRequest is what was asked of pitman label.
type labelRequest struct {
	out   outFile
	stock string
	sheet labels.SheetOptions

	stage, order       string
	stale, slip        bool
	stand, shelf       bool
	testSheet, stocks  bool
	csv                bool
	text, ascii, paper bool
}

func (a *app) labelCommand() *cobra.Command {
	var q labelRequest
	cmd := &cobra.Command{
		Use:   "label [TAG...]",
		Short: "Print labels with a QR symbol, slips and shelf labels",
		Long: `Prints a lasting label for each machine: tag, QR symbol, maker, serial, year, drive and tests; for each treadle base: tag, QR
symbol, measures and weight.

The usual stock is a tag tied on through a hole: stickers fail on oily iron. Never stick a label on decals, since glue
lifts them. Print at 100 %; --test-sheet prints a ruler to check that.

Stages change with every move, so they are not on the lasting label: --slip prints a slip to lie by the machine, with what
the function check found. --stale lists the labels that say something else than is known today, and reprints them with -o.`,
		Example: `  pitman label PM17X -o label.pdf
  pitman label --stage ready -o ready.pdf --stock a4-3x7 --start-at 5
  pitman label --order ORD1 -o order.pdf
  pitman label --stale -o again.pdf
  pitman label PM17X --text
  pitman label PM17X --slip -o slip.pdf
  pitman label --stand -o bases.pdf
  pitman label --shelf "shelf 3" -o shelf.pdf
  pitman label --stocks`,
		RunE: func(cmd *cobra.Command, args []string) error {
			q.sheet.StartAt = max(q.sheet.StartAt, 0)
			if cmd.Flags().Changed("start-at") && q.sheet.StartAt == 0 {
				return registry.Errorf(registry.Invalid, "start-at must be 1 or more: count the labels along the rows from the top left")
			}
			return a.label(cmd.Context(), &q, args)
		},
	}
	q.out.flags(cmd)
	flags := cmd.Flags()
	flags.StringVar(&q.stock, "stock", "", "label stock by its `NAME`; --stocks lists them (else as in house.toml)")
	flags.IntVar(&q.sheet.StartAt, "start-at", 1, "`NUMBER` of the first free label of a started sheet, counted along the rows")
	flags.BoolVar(&q.sheet.Outline, "outline", false, "print cut lines")
	flags.StringVar(&q.stage, "stage", "", "every machine at this `STAGE`")
	flags.StringVar(&q.order, "order", "", "the heads and bases reserved for this `ORDER`")
	flags.BoolVar(&q.stale, "stale", false, "every label that is out of date; lists them unless -o is given")
	flags.BoolVar(&q.slip, "slip", false, "print the stage slip, with what the function check found")
	flags.BoolVar(&q.stand, "stand", false, "print labels of treadle bases; without a tag of every base in the house, or at --stage")
	flags.BoolVar(&q.shelf, "shelf", false, "print labels for places, by name; without a name for every place in use")
	flags.BoolVar(&q.testSheet, "test-sheet", false, "print a ruler and the outlines of the stock")
	flags.BoolVar(&q.stocks, "stocks", false, "list the label stock")
	flags.BoolVar(&q.csv, "csv", false, "with --stocks: as a table to edit and keep as lists/stock.csv in the house")
	flags.BoolVar(&q.text, "text", false, "show the label here, for want of a printer")
	flags.BoolVar(&q.ascii, "ascii", false, "with --text: without block characters")
	flags.BoolVar(&q.paper, "paper", false, "with --text: dark on light")
	for _, one := range []string{"stage", "stand", "slip"} { // these three go together
		cmd.MarkFlagsMutuallyExclusive("stale", one, "shelf", "test-sheet", "stocks")
	}
	for _, one := range []string{"stage", "stand"} {
		cmd.MarkFlagsMutuallyExclusive("order", "stale", one, "shelf", "test-sheet", "stocks")
	}
	cmd.MarkFlagsMutuallyExclusive("text", "output")
	return cmd
}

func (a *app) label(ctx context.Context, q *labelRequest, args []string) error {
	if q.out.name != "" {
		if err := q.out.check(); err != nil {
			return err
		}
	}
	if q.stocks || q.testSheet {
		return a.labelStock(q)
	}
	if q.out.name == "" && !q.text && !q.stale {
		return registry.Errorf(registry.Invalid, "output is missing: give -o FILE.pdf, or --text to see the label here")
	}
	return a.with(func(d *desk) error {
		s, err := schemeOf(d.Config)
		if err != nil {
			return err
		}
		faces, err := d.faces(ctx, s, q, args)
		if err != nil {
			return err
		}
		switch {
		case q.text:
			return a.labelText(s, faces, q)
		case q.out.name == "":
			return a.listStale(faces)
		default:
			return a.printLabels(ctx, d, s, faces, q)
		}
	})
}

// printed says what was printed.
type printed struct {
	File   string   `json:"file"`
	Stock  string   `json:"stock"`
	Labels int      `json:"labels"`
	Sheets int      `json:"sheets"`
	Tags   []string `json:"tags"`
}

func (a *app) printLabels(ctx context.Context, d *desk, s *labels.Scheme, faces []*labels.Face, q *labelRequest) error {
	lasting := !q.slip && !q.shelf
	labelStock, err := a.stock(d.house.Dir, s, q, lasting)
	if err != nil {
		return err
	}
	result := printed{File: q.out.name, Stock: labelStock.Name, Labels: len(faces), Tags: []string{}}
	var each []named
	var drawings []*labels.Drawing
	var prints []stock.Print
	for _, f := range faces {
		drawing, err := labels.Draw(f, labelStock, s)
		if err != nil {
			return err
		}
		each, drawings = append(each, named{fileWord(f.Headline), drawing}), append(drawings, drawing)
		result.Tags = append(result.Tags, f.Headline)
		if lasting {
			prints = append(prints, stock.Print{Tag: registry.Tag(f.Headline), Fingerprint: f.Fingerprint()})
		}
	}
	sheets, err := labels.Sheet(labelStock, drawings, q.sheet)
	if err != nil {
		return err
	}
	if result.Sheets = len(sheets); len(sheets) > 0 {
		// Whoever prints need not say who it is: a label is no entry in the history.
		var by registry.Initials
		if a.hasActor() {
			if by, err = a.actor(); err != nil {
				return err
			}
		}
		err = d.NotePrints(ctx, by, prints, func() error { return q.out.labels(a.now(), sheets, each) })
		if err != nil {
			return err
		}
	}
	return a.print(result, func(w io.Writer) {
		if len(faces) == 0 {
			fmt.Fprintln(w, "Every label says what is known today: nothing to print.")
			return
		}
		fmt.Fprintf(w, "%s on %s of %s in %s\n", plural(len(faces), "label"), plural(len(sheets), "sheet"), labelStock.Name, q.out.name)
	})
}

const noneStale = "Every printed label says what is known today."

func (a *app) listStale(faces []*labels.Face) error {
	tags := []string{}
	for _, f := range faces {
		tags = append(tags, f.Headline)
	}
	return a.print(tags, func(w io.Writer) {
		if len(faces) == 0 {
			fmt.Fprintln(w, noneStale)
			return
		}
		for _, tag := range tags {
			fmt.Fprintln(w, tag)
		}
		fmt.Fprintf(w, "%s out of date: pitman label --stale -o FILE.pdf prints them anew.\n", plural(len(tags), "label"))
	})
}

func (a *app) labelText(s *labels.Scheme, faces []*labels.Face, q *labelRequest) error {
	type shown struct {
		Tag  string `json:"tag"`
		Text string `json:"text"`
	}
	out := []shown{}
	for _, f := range faces {
		text, err := labels.Text(f, s, labels.TextOptions{ASCII: q.ascii, Paper: q.paper})
		if err != nil {
			return err
		}
		out = append(out, shown{f.Headline, text})
	}
	return a.print(out, func(w io.Writer) {
		if len(out) == 0 {
			fmt.Fprintln(w, noneStale)
		}
		for i, o := range out {
			if i > 0 {
				fmt.Fprintln(w)
			}
			io.WriteString(w, o.Text)
		}
	})
}
