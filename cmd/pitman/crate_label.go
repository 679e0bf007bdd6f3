package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/labels/cargo"
	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/packing"
	"pitman/registry/stock"
)

// crateStock is what crate labels are printed on where nobody says otherwise.
const crateStock = "a4-1x2"

func (a *app) orderCrateLabelsCommand() *cobra.Command {
	var q labelRequest
	var paper string
	var only int
	cmd := &cobra.Command{
		Use:   "crate-labels ORDER",
		Short: "Print the labels of an order's crates: which of how many, for whom, weights, marks, contents",
		Long: `Prints a label for each crate that is whole: its number, the consignee, net and gross weight, what
was scanned into it, and handling marks (ISO 780), which need no words. The numbers are those of the packing
list. The symbol is that of the first machine in it: scanning it shows what it is, for whom, and what goes
with it. Where a weight is not known, the label says so.`,
		Example: `  pitman order crate-labels ORD1 -o crates.pdf
  pitman order crate-labels ORD1 --crate 2 --stock roll-102x152 -o crate2.zpl`,
	}
	q.out.flags(cmd)
	flags := cmd.Flags()
	flags.StringVar(&q.stock, "stock", "", "label stock by its `NAME` (else "+crateStock+")")
	q.printFlags(cmd)
	flags.IntVar(&only, "crate", 0, "of this crate alone, by its `NUMBER`")
	addPaperFlag(cmd, &paper)
	cmd.MarkFlagsMutuallyExclusive("output", "print")
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		if err := q.said(cmd); err != nil {
			return err
		}
		if err := q.canPrint(); err != nil {
			return err
		}
		q.asPrinterHas(d.Config.Printer[q.printer])
		crates, err := d.LabelCrates(cmd.Context(), number, paper)
		if err != nil {
			return err
		}
		if cmd.Flags().Changed("crate") {
			if crates, err = cratesNumbered(crates, only, number); err != nil {
				return err
			}
		}
		open := 0
		if paper == "" {
			if open, err = d.OpenPlaces(cmd.Context(), number); err != nil {
				return err
			}
		}
		return a.printCrateLabels(cmd.Context(), d, &q, crates, open)
	})
}

// cratesNumbered are those that bear this number: what leaves apart is counted apart, so there may be
// several.
func cratesNumbered(crates []packing.CrateLabel, only int, order string) (found []packing.CrateLabel,
	err error) {
	last := 0
	for _, c := range crates {
		last = max(last, c.Crate)
		if c.Crate == only {
			found = append(found, c)
		}
	}
	if len(found) == 0 {
		return nil, registry.Errorf(registry.NotFound, "crate %d: order %s has %s: type 1 to %d", only, order,
			plural(len(crates), "crate"), last).On("crate")
	}
	return found, nil
}

// canPrint refuses a request that has nowhere to print to.
func (q *labelRequest) canPrint() error {
	if q.printer != "" {
		return canPrintHere(q.printer)
	}
	if q.out.name == "" {
		return registry.Errorf(registry.Invalid, "output is missing: give -o FILE.pdf, or --print NAME")
	}
	return q.out.check(".zpl", ".escpos")
}

func (a *app) printCrateLabels(ctx context.Context, d *workplace, q *labelRequest,
	crates []packing.CrateLabel, open int) error {
	s, err := schemeOf(d.Config)
	if err != nil {
		return err
	}
	q.stock = cmp.Or(q.stock, crateStock)
	on, err := a.stock(d.house.Dir, s, q, false)
	if err != nil {
		return err
	}
	result := printed{File: q.out.name, Stock: on.Name, Tags: []string{}, OpenPlaces: open}
	var each []named
	var drawings []*labels.Drawing
	for i := range crates {
		c := &crates[i]
		err := c.NotWhole()
		var drawn *labels.Drawing
		if err == nil {
			drawn, err = crateOf(c, d.Config.Crates.Marks).Draw(on, s, q.device(on))
		}
		if err != nil {
			if len(crates) == 1 {
				return err
			}
			fmt.Fprintf(a.err, "pitman: %v\n", err)
			result.Refused = append(result.Refused, refusedLabel{string(c.Items[0].Tag), err.Error()})
			continue
		}
		name := fmt.Sprintf("%s-crate-%d", c.Order, c.Crate)
		each, drawings = append(each, named{name, on.Alone(drawn, q.sheet)}), append(drawings, drawn)
		result.Tags = append(result.Tags, string(c.Items[0].Tag))
	}
	if len(each) == 0 {
		return registry.Errorf(registry.Conflict,
			"no crate can have its label yet: nothing was written; scan what belongs into them first").
			Then(registry.Next(registry.DoPack, "").Of(crates[0].Order))
	}
	var out laid
	err = d.NotePrints(ctx, "", nil, func(tx stock.Tx) (err error) {
		out, err = q.place(ctx, tx, a.now(), batch{on, q.device(on), drawings, each})
		return err
	})
	if err != nil {
		return err
	}
	result.Labels = len(each)
	result.tell(q, out)
	return a.print(result, func(w io.Writer) {
		where := "in " + q.out.name
		if q.printer != "" {
			where = "to printer " + q.printer
		}
		fmt.Fprintf(w, "%s on %s of %s %s\n", plural(result.Labels, "crate label"),
			plural(result.Sheets, "sheet"), on.Name, where)
		if n := len(result.Refused); n > 0 {
			fmt.Fprintf(w, "%s not printed: the numbers hold once every crate is whole.\n",
				plural(n, "label"))
		}
		if open > 0 {
			fmt.Fprintf(w,
				"Still to fill on %s: %s. What comes to it and goes along counts as a crate, too: "+
					"print all of these again then.\n", crates[0].Order, plural(open, "place"))
		}
		out.tell(w, on, q)
	})
}

// crateOf is what a crate's label says.
func crateOf(c *packing.CrateLabel, marks *[]string) cargo.Crate {
	out := cargo.Crate{Order: c.Order, Number: c.Crate, Of: c.Of, To: c.Partner, From: c.House,
		Net: weighed(c.Net), Gross: weighed(c.Gross), Heavy: c.Heavy,
		Marks: []cargo.Mark{cargo.ThisWayUp, cargo.Fragile, cargo.KeepDry}}
	if marks != nil {
		out.Marks = nil
		for _, name := range *marks {
			out.Marks = append(out.Marks, cargo.Mark(name))
		}
	}
	for _, line := range append(strings.Split(c.Address, "\n"), c.Country, c.Contact) {
		if line = strings.TrimSpace(line); line != "" {
			out.Address = append(out.Address, line)
		}
	}
	for _, item := range c.Items {
		out.Tags = append(out.Tags, string(item.Tag))
		words := []string{string(item.Tag), item.What + " " + item.Name}
		if item.What == "head" {
			words = append(words, orNotKnown(item.Serial), item.Year)
		}
		out.Holds = append(out.Holds, strings.Join(words, " · "))
	}
	return out
}

func weighed(m *measure.Mass) string {
	if m == nil {
		return ""
	}
	return m.String()
}

func (a *app) orderCareCardsCommand() *cobra.Command {
	var out outFile
	cmd := &cobra.Command{
		Use:   "care-cards ORDER",
		Short: "Print a card of care for each machine of an order, in the partner's language",
		Long: `Prints a card for each machine, four on a sheet of A4: what whoever sews on it does and minds. What
it says stands in lists/care.csv (pitman lists copy care), in as many languages as it is written in: the
column language names them, and the partner's record says which is read there. What is not written in that
language is in the house's own words. A row for caution, with needle, moving-parts, oily-rags, lifting or
mains, says that caution in its language; without it the caution stands as it is.`,
		Example: `  pitman order care-cards ORD1 -o cards.pdf`,
	}
	out.flags(cmd)
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		if out.name == "" && !a.json {
			return registry.Errorf(registry.Invalid, "output is missing: give -o FILE.pdf for the cards")
		}
		if out.name != "" && out.ending() != ".pdf" {
			return registry.Errorf(registry.Invalid, "output %q: cards are printed from a PDF: name a file "+
				"ending in .pdf", out.name)
		}
		cards, err := d.CareCards(cmd.Context(), number)
		if err != nil {
			return err
		}
		if out.name != "" {
			pages, err := cargo.Cards(cardsOf(cards))
			if err != nil {
				return registry.Errorf(registry.Invalid, "%v", err)
			}
			if err := out.pages(a, "Care of "+number, pages...); err != nil {
				return err
			}
		}
		if c := cards[0]; c.Language != "" && !c.Written() {
			fmt.Fprintf(a.err,
				"pitman: lists/care.csv has no care in %s: what is no caution is in the house's own words\n",
				c.Language)
		}
		return a.print(cards, func(w io.Writer) {
			fmt.Fprintf(w, "%s in %s: print at 100 %%, and cut into quarters\n",
				plural(len(cards), "care card"),
				out.name)
		})
	})
}

func cardsOf(cards []packing.CareCard) (out []cargo.Card) {
	for _, c := range cards {
		card := cargo.Card{Tag: string(c.Tag), Name: c.Name, From: c.House + " · " + c.Order,
			Cautions: c.Cautions}
		for _, row := range c.Care {
			card.Care = append(card.Care, cargo.Care{What: row.What, Text: row.Text})
		}
		out = append(out, card)
	}
	return out
}
