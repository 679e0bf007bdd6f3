package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/labels/characters"
	"pitman/labels/scheme"
	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// labelRequest is what was asked of pitman label.
type labelRequest struct {
	out   outFile
	stock string
	sheet labels.SheetOptions

	stage, order       string
	stale, slip, queue bool
	spoiled, tied      bool
	stand, shelf       bool
	testSheet, stocks  bool
	csv                bool
	blank              int
	text, ascii, paper bool
	mono, monoSaid     bool
	printer            string
	startSaid, goOn    bool
	copies             int
	profile            house.PrinterConfig // of that printer
}

// asPrinterHas takes from a printer's profile what was not said on the command line.
func (q *labelRequest) asPrinterHas(p house.PrinterConfig) {
	q.profile = p
	q.stock, q.out.dpi = cmp.Or(q.stock, p.Stock), cmp.Or(q.out.dpi, p.DPI)
	q.copies = cmp.Or(q.copies, p.Copies)
	if p.Mono != nil && !q.monoSaid {
		q.mono, q.monoSaid = *p.Mono, true
	}
}

// device is what the labels are drawn for: the stock's printer, but for what was said on the command line.
func (q *labelRequest) device(of labels.Stock) labels.Device {
	on := of.Device()
	if q.monoSaid {
		on.Mono = q.mono
	}
	out := q.out
	if q.printer != "" {
		out.name = q.job()
	}
	return out.device(on)
}

// job is the name of what a printer is sent, whose ending says in which language.
func (q *labelRequest) job() string { return "labels." + cmp.Or(q.profile.Language, "pdf") }

func (a *app) labelCommand() *cobra.Command {
	var q labelRequest
	cmd := &cobra.Command{
		Use:   "label [TAG...]",
		Short: "Print labels with a QR symbol, slips and shelf labels",
		Long: `Prints a lasting label for each machine: tag, QR symbol, maker, serial, year, drive
and tests; for each treadle base: tag, QR symbol, measures and weight.

The usual stock is a tag tied on through a hole: stickers fail on oily iron. Never stick a label on
decals, since glue lifts them. Print at 100 %; --test-sheet prints a ruler to check that.

Stages change with every move, so they are not on the lasting label: --slip prints a slip to lie by
the machine, with what the function check found. --queue lists what has to be printed and why:
labels that are missing, spoiled, or say something else than is known today, and what has changed;
with -o it prints them. --stale keeps to those that are out of date. A .pdf, .zpl or .escpos counts
as printed, and so does --print; pictures and text to look at do not.`,
		Example: `  pitman label PM17X -o label.pdf
  pitman label --stage ready -o ready.pdf --stock a4-3x7 --start-at 5
  pitman label --order ORD1 -o order.pdf
  pitman label --queue
  pitman label --queue -o today.pdf
  pitman label PM17X --text
  pitman label PM17X --slip -o slip.pdf
  pitman label --stand -o bases.pdf
  pitman label --shelf "shelf 3" -o shelf.pdf
  pitman label --stocks`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := q.said(cmd); err != nil {
				return err
			}
			if cmd.Flags().Changed("blank") && q.blank == 0 {
				q.blank = -1 // refused with the others
			}
			return a.label(cmd.Context(), &q, args)
		},
	}
	q.out.flags(cmd)
	flags := cmd.Flags()
	flags.StringVar(&q.stock, "stock", "",
		"label stock by its `NAME`; --stocks lists them (else as in house.toml)")
	q.printFlags(cmd)
	flags.StringVar(&q.stage, "stage", "", "every machine at this `STAGE`")
	flags.StringVar(&q.order, "order", "", "the heads and bases reserved for this `ORDER`")
	flags.BoolVar(&q.stale, "stale", false, "every label that is out of date; lists them unless -o is given")
	flags.BoolVar(&q.queue, "queue", false,
		"every label that is missing, spoiled or out of date, and slips that are; lists them unless -o is "+
			"given")
	flags.BoolVar(&q.spoiled, "spoiled", false,
		"note that printed labels came out badly, so that they are printed again")
	flags.BoolVar(&q.tied, "tied", false, "note that labels which were printed again are tied on")
	flags.BoolVar(&q.slip, "slip", false, "print the stage slip, with what the function check found")
	flags.BoolVar(&q.stand, "stand", false,
		"print labels of treadle bases; without a tag of every base in the house, or at --stage")
	flags.BoolVar(&q.shelf, "shelf", false,
		"print labels for places, by name; without a name for every place in use")
	flags.IntVar(&q.blank, "blank", 0, "print the next `NUMBER` of tags ahead, to be scanned at logging")
	flags.BoolVar(&q.testSheet, "test-sheet", false, "print a ruler and the outlines of the stock")
	flags.BoolVar(&q.stocks, "stocks", false, "list the label stock")
	flags.BoolVar(&q.csv, "csv", false,
		"with --stocks: as a table to edit and keep as lists/stock.csv in the house")
	flags.BoolVar(&q.text, "text", false, "show the label here, for want of a printer")
	flags.BoolVar(&q.ascii, "ascii", false, "with --text: without block characters")
	flags.BoolVar(&q.paper, "paper", false, "with --text: dark on light")
	for _, one := range []string{"stage", "stand", "slip", "order", "stale", "queue", "shelf", "test-sheet",
		"stocks",
		"spoiled", "tied", "text"} {
		cmd.MarkFlagsMutuallyExclusive("blank", one)
	}
	for _, one := range []string{"stage", "stand", "slip"} { // these three go together
		cmd.MarkFlagsMutuallyExclusive("stale", one, "shelf", "test-sheet", "stocks", "spoiled", "tied")
	}
	for _, one := range []string{"stage", "stand"} {
		cmd.MarkFlagsMutuallyExclusive("order", "stale", "queue", one, "shelf", "test-sheet", "stocks",
			"spoiled", "tied")
	}
	for _, one := range []string{"output", "text"} {
		cmd.MarkFlagsMutuallyExclusive(one, "spoiled", "tied")
	}
	cmd.MarkFlagsMutuallyExclusive("text", "output", "print")
	return cmd
}

func (a *app) label(ctx context.Context, q *labelRequest, args []string) error {
	if q.out.name != "" {
		if err := q.out.check(".zpl", ".escpos"); err != nil {
			return err
		}
	}
	if q.stocks || q.testSheet {
		if len(args) > 0 {
			return registry.Errorf(registry.Invalid,
				"%s: a list of the stock or a test sheet is of no machine: leave the tag out",
				args[0]).On("tag")
		}
		return a.labelStock(ctx, q)
	}
	if q.spoiled || q.tied {
		return a.noteLabels(ctx, q, args)
	}
	if q.printer != "" {
		if err := canPrintHere(q.printer); err != nil {
			return err
		}
	}
	if !q.prints() && !q.text && !q.stale && !q.queue {
		return registry.Errorf(registry.Invalid,
			"output is missing: give -o FILE.pdf, or --text to see the label here")
	}
	return a.with(func(d *workplace) error {
		s, err := schemeOf(d.Config)
		if err != nil {
			return err
		}
		q.asPrinterHas(d.Config.Printer[q.printer])
		if q.blank != 0 {
			return a.printBlank(ctx, d, s, q, args)
		}
		if q.queue && !q.prints() && !q.text {
			return a.listQueue(ctx, d, s, args)
		}
		faces, err := d.faces(ctx, s, q, args)
		if err != nil {
			return err
		}
		switch {
		case q.text:
			return a.labelText(s, faces, q)
		case !q.prints():
			return a.listStale(faces)
		default:
			return a.printLabels(ctx, d, s, faces, q)
		}
	})
}

// printed says what was printed.
type printed struct {
	File   string   `json:"file"` // empty where they went to a printer
	Stock  string   `json:"stock"`
	Labels int      `json:"labels"`
	Sheets int      `json:"sheets"`
	Tags   []string `json:"tags"`

	Refused []refusedLabel `json:"refused,omitempty"` // which this stock cannot hold

	OpenPlaces int `json:"open_places,omitempty"` // of the order of crates, which count anew what fills them

	Copies  int `json:"copies,omitempty"`    // of each label, where there are several
	StartAt int `json:"start_at,omitempty"`  // the first label used on the first sheet
	Next    int `json:"next_free,omitempty"` // on the last sheet, where one is left
}

// tell notes where a batch stands.
func (p *printed) tell(q *labelRequest, out laid) {
	p.Sheets, p.StartAt = out.Sheets, out.From
	if out.Next > 1 {
		p.Next = out.Next
	}
	if q.copies > 1 {
		p.Copies = q.copies
	}
}

type refusedLabel struct {
	Tag string `json:"tag"`
	Why string `json:"why"`
}

func (a *app) printLabels(ctx context.Context, d *workplace, s *labels.Scheme, faces []*labels.Face,
	q *labelRequest) error {
	lasting := !q.slip && !q.shelf
	labelStock, err := a.stock(d.house.Dir, s, q, lasting)
	if err != nil {
		return err
	}
	a.warnOfScheme(s, labelStock)
	result := printed{File: q.out.name, Stock: labelStock.Name, Tags: []string{}}
	var each []named
	var drawings []*labels.Drawing
	var prints []stock.Print
	on := q.device(labelStock)
	if len(faces) > 1000 {
		// A house's whole stock is drawn before any of it is written: less memory is worth the time here.
		defer debug.SetGCPercent(debug.SetGCPercent(40))
	}
	drawn, refused := labels.DrawAll(faces, labelStock, s, on)
	for i, f := range faces {
		if refused[i] != nil {
			if len(faces) == 1 {
				return refused[i]
			}
			fmt.Fprintf(a.err, "pitman: %v\n", refused[i])
			result.Refused = append(result.Refused, refusedLabel{f.Headline, refused[i].Error()})
			continue
		}
		each, drawings = append(each, named{fileWord(f.Headline), labelStock.Alone(drawn[i], q.sheet)}),
			append(drawings, drawn[i])
		result.Tags = append(result.Tags, f.Headline)
		switch {
		case q.shelf: // also one to look at: by it a scan of its code is understood
			prints = append(prints, stock.Print{Tag: registry.Tag(f.Payload), Kind: stock.ShelfPrint,
				Event: stock.Printed, Says: f.Headline})
		case q.counts():
			prints = append(prints,
				stock.Print{Tag: registry.Tag(f.Headline), Kind: q.kind(), Event: stock.Printed,
					Says: f.Says().Text()})
		}
	}
	result.Labels = len(each)
	var out laid
	if len(each) > 0 {
		// Whoever prints need not say who it is: a label is no entry in the history.
		var by registry.Initials
		if a.hasActor() {
			if by, err = a.actor(); err != nil {
				return err
			}
		}
		err = d.NotePrints(ctx, by, prints, func(tx stock.Tx) (err error) {
			out, err = q.place(ctx, tx, a.now(), batch{labelStock, on, drawings, each})
			return err
		})
		if err != nil {
			return err
		}
	}
	result.tell(q, out)
	err = a.print(result, func(w io.Writer) {
		if len(faces) == 0 {
			fmt.Fprintln(w, "Every label says what is known today: nothing to print.")
			return
		}
		if len(each) == 0 {
			fmt.Fprintf(w, "Nothing was printed: %s holds none of them.\n", labelStock.Name)
			return
		}
		where := "in " + q.out.name
		if q.printer != "" {
			where = "sent to " + q.printer
		}
		fmt.Fprintf(w, "%s on %s of %s %s\n", plural(len(each), "label"), plural(out.Sheets, "sheet"),
			labelStock.Name, where)
		out.tell(w, labelStock, q)
	})
	if err == nil && len(result.Refused) > 0 {
		err = errQuiet // the sentences stand above
	}
	return err
}

// warnOfScheme says once that people may mistake bands for each other; what prints, prints even so.
func (a *app) warnOfScheme(s *labels.Scheme, on labels.Stock) {
	if r := scheme.Check(s, on.DPI); !r.Pass {
		fmt.Fprintf(a.err, "pitman: the scheme has %s, such as: %s (pitman scheme check)\n",
			plural(len(r.Faults), "fault"), r.Faults[0].Says)
	}
}

// prints says that labels are to be drawn somewhere.
func (q *labelRequest) prints() bool { return q.out.name != "" || q.printer != "" }

// counts says that what is drawn counts as printed.
func (q *labelRequest) counts() bool { return q.printer != "" || q.out.forPrinter() }

// put writes the labels into their file, or hands them to the printer.
func (q *labelRequest) put(ctx context.Context, at time.Time, on labels.Device, sheets []*labels.Drawing,
	each []named) error {
	if q.printer == "" {
		return q.out.labels(at, on, sheets, each)
	}
	moved, alone := make([]*labels.Drawing, len(sheets)), make([]named, len(each))
	for i, sheet := range sheets {
		moved[i] = sheet.Moved(q.profile.Right, q.profile.Down)
	}
	for i, one := range each {
		alone[i] = named{one.name, one.drawing.Moved(q.profile.Right, q.profile.Down)}
	}
	return sendToPrinter(ctx, q.printer, q.job(), func(file string) error {
		return (&outFile{name: file}).labels(at, on, moved, alone)
	})
}

func (q *labelRequest) kind() stock.PrintKind {
	if q.slip {
		return stock.SlipPrint
	}
	return stock.LabelPrint
}

// listQueue says what has to be printed, and why.
func (a *app) listQueue(ctx context.Context, d *workplace, s *labels.Scheme, args []string) error {
	if len(args) > 0 {
		return registry.Errorf(registry.Invalid, "--queue finds the labels by itself: leave %s out", args[0])
	}
	q, err := d.queue(ctx, s)
	if err != nil {
		return err
	}
	if q.Due == nil {
		q.Due = []shelf.LabelDue{}
	}
	return a.print(q.Due, func(w io.Writer) {
		if len(q.Due) == 0 {
			fmt.Fprintln(w,
				"Every machine and base in the house has its label, and each says what is known today.")
		} else {
			columns(w, func(w io.Writer) {
				fmt.Fprintln(w, "tag\twhat\twhy\tchanged")
				for _, l := range q.Due {
					changed := strings.Join(l.Changed, ", ")
					if l.Why == shelf.Stale && changed == "" {
						changed = "not known: it was printed before that was kept"
					}
					fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", l.Tag, l.Kind, l.Why, orDash(changed))
				}
			})
			fmt.Fprintf(w,
				"%s to print: pitman label --queue -o FILE.pdf prints the labels, and with --slip the "+
					"slips.\n", plural(len(q.Due), "label"))
		}
		if len(q.Unseen) > 0 {
			fmt.Fprintf(w, "Printed and not scanned since: %s. The first scan shows that it is tied on.\n",
				registry.FirstFew(q.Unseen))
		}
		if len(q.Untied) > 0 {
			fmt.Fprintf(w, "Printed again and not noted as tied on: %s. pitman label --tied TAG notes it.\n",
				registry.FirstFew(q.Untied))
		}
	})
}

// noteLabels keeps what became of printed labels.
func (a *app) noteLabels(ctx context.Context, q *labelRequest, args []string) error {
	event, what := stock.Spoiled, "spoiled: the queue has it until it is printed again"
	if q.tied {
		event, what = stock.Tied, "tied on"
	}
	if len(args) == 0 {
		return registry.Errorf(registry.Invalid,
			"tag is missing: name the machines or bases whose labels are %s", event)
	}
	return a.with(func(d *workplace) error {
		var tags []registry.Tag
		for _, arg := range args {
			tag, err := registry.ParseTag(arg)
			if err != nil {
				return err
			}
			tags = append(tags, tag)
		}
		var by registry.Initials
		var err error
		if a.hasActor() {
			if by, err = a.actor(); err != nil {
				return err
			}
		}
		if err := d.NoteLabels(ctx, by, event, tags); err != nil {
			return err
		}
		return a.print(tags, func(w io.Writer) {
			for _, tag := range tags {
				fmt.Fprintf(w, "%s  label %s\n", tag, what)
			}
		})
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
		fmt.Fprintf(w, "%s out of date: pitman label --stale -o FILE.pdf prints them anew.\n",
			plural(len(tags), "label"))
	})
}

func (a *app) labelText(s *labels.Scheme, faces []*labels.Face, q *labelRequest) error {
	type shown struct {
		Tag  string `json:"tag"`
		Text string `json:"text"`
	}
	out := []shown{}
	for _, f := range faces {
		text, err := characters.Text(f, s, characters.Options{ASCII: q.ascii, Paper: q.paper})
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
