package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry/packing"
)

func (a *app) orderGiftCommand() *cobra.Command {
	var to paperFlags
	var paper string
	cmd := &cobra.Command{Use: "gift-letter ORDER",
		Short: "Write the letter that says what is given, and to whom",
		Long: `Says that what leaves is a gift, with what the house declares for customs. The house's own words,
or another language: pitman lists copy gift.`,
		Example: `  pitman order gift-letter ORD1 --out gift.pdf`}
	to.add(cmd)
	addPaperFlag(cmd, &paper)
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		if err := to.check(a.json); err != nil {
			return err
		}
		g, err := d.Gift(cmd.Context(), number, paper)
		if err != nil {
			return err
		}
		return a.printPaper(giftPaper(g), g, to)
	})
}

func giftPaper(g *packing.GiftLetter) *paper {
	p := &paper{
		title:  "Gift letter " + g.Order,
		made:   g.At,
		before: append([]string{issued(g.Issue), "To " + consignee(g.Partner, g.Issue) + "."}, g.Above...),
		header: []string{"given", "how many", "tags of heads and bases", "value for customs, " + g.Currency},
		wide:   []float64{.15, .1, .55, .2},
	}
	for _, l := range g.Lines {
		value := "not known"
		if l.Value != nil {
			value = strconv.FormatFloat(*l.Value, 'f', 2, 64)
		}
		var tags []string
		for _, tag := range l.Tags {
			tags = append(tags, string(tag))
		}
		p.rows = append(p.rows,
			[]string{string(l.Kind), strconv.Itoa(l.Number), strings.Join(tags, ", "), value})
	}
	p.after = append(p.after, plural(g.Pieces, "piece")+" in all.")
	p.after = append(p.after, g.Below...)
	p.after = append(p.after, fmt.Sprintf("For %s: ______________________  Date: ____________", g.House))
	return p
}

func (a *app) orderCareCommand() *cobra.Command {
	var to paperFlags
	var paper string
	cmd := &cobra.Command{Use: "care-sheet ORDER",
		Short: "Write the sheet of care for those who will sew on what an order sends",
		Long: `Says each thing once: what holds for any machine, then what its drive asks for. The house's own
words, or another language: pitman lists copy care.`,
		Example: `  pitman order care-sheet ORD1 --out care.pdf`}
	to.add(cmd)
	addPaperFlag(cmd, &paper)
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		if err := to.check(a.json); err != nil {
			return err
		}
		c, err := d.Care(cmd.Context(), number, paper)
		if err != nil {
			return err
		}
		return a.printPaper(carePaper(c), c, to)
	})
}

func carePaper(c *packing.CareSheet) *paper {
	p := &paper{
		title:  "Care of the machines of " + c.Order,
		made:   c.At,
		before: []string{issued(c.Issue), fmt.Sprintf("From %s, for %s.", c.House, c.Partner)},
		header: []string{"machines", "what", "what to do"},
		wide:   []float64{.12, .13, .75},
	}
	for _, group := range c.Machines {
		var tags []string
		for _, tag := range group.Tags {
			tags = append(tags, string(tag))
		}
		p.before = append(p.before, fmt.Sprintf("%s: %s.", group.Drive, strings.Join(tags, ", ")))
	}
	last := ""
	for _, row := range c.Care {
		of := row.For
		if of == last {
			of = ""
		}
		last = row.For
		p.rows = append(p.rows, []string{of, row.What, row.Text})
	}
	for _, caution := range c.Cautions {
		p.after = append(p.after, "! "+caution)
	}
	return p
}
