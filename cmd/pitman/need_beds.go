package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pitman/labels"
	"pitman/labels/wall"
	"pitman/registry"
	"pitman/registry/appeals"
	"pitman/registry/planning"
)

// bedNotes say how the drawings are to be read.
var bedNotes = []string{"From above; at the back the two sockets that the head's hinge pins stand in.",
	"Cast iron: two people carry a base."}

func bedOf(b planning.BaseNeed) wall.Bed {
	return wall.Bed{Name: fmt.Sprintf("%s, up to %d", b.Pattern, b.Fill), Length: b.OpeningLength.MM(),
		Width: b.OpeningWidth.MM(), Pins: b.Pins.MM()}
}

// drawBeds draws the openings of the bases that are wanted, four a page.
func drawBeds(n *appeals.Appeal, d *workplace) (pages []*labels.Drawing, err error) {
	for some := range slices.Chunk(n.Bases, wall.BedsOnASheet) {
		sheet := wall.Beds{Title: "Treadle bases that are wanted", Lines: []string{ofToday(d)},
			Notes: slices.Clone(bedNotes)}
		for _, b := range some {
			sheet.Beds = append(sheet.Beds, bedOf(b))
		}
		page, err := sheet.Draw(wall.A4)
		if err != nil {
			return nil, err
		}
		pages = append(pages, page)
	}
	return pages, nil
}

func ofToday(d *workplace) string {
	return fmt.Sprintf("%s, as of %s.", d.Config.House.Name, d.localDate(d.Now()))
}

// writeWanted writes the poster: the bases that fill most, drawn, and all else that is lacking in words.
func (a *app) writeWanted(to paperFlags, n *appeals.Appeal, d *workplace) error {
	if to.format != "pdf" {
		return registry.Errorf(registry.Invalid, "a poster is a PDF: give --poster -o wanted.pdf")
	}
	sheet := wall.Beds{Title: "Wanted by " + d.Config.House.Name, Lines: []string{ofToday(d)},
		Notes: slices.Clone(bedNotes)}
	var heads, timber, kits, money []string
	for _, h := range n.Heads {
		heads = append(heads, fmt.Sprintf("%s by %s", plural(h.Empty, string(h.Drive)+" machine"), h.Due))
	}
	for _, t := range n.Timber {
		timber = append(timber, fmt.Sprintf("%d × %s, %s long", t.Boards, t.Timber, t.Length))
	}
	for _, k := range n.Kits {
		kits = append(kits, fmt.Sprintf("%d × %s", k.Short, k.Part))
	}
	for _, m := range n.Money {
		if m.Places > m.NoPrice {
			money = append(money, fmt.Sprintf("%.2f %s", m.Amount, m.Currency))
		}
		if m.NoPrice > 0 {
			money = append(money,
				fmt.Sprintf("%s bought locally, no price known", plural(m.NoPrice, "place")))
		}
	}
	for _, words := range [][]string{heads, timber, kits, money} {
		if len(words) > 0 {
			sheet.Lines = append(sheet.Lines, strings.Join(words, "; ")+".")
		}
	}
	sheet.Lines = append(sheet.Lines, noTimber(n)...)
	bases := n.Bases[:min(len(n.Bases), wall.BedsOnASheet)]
	for _, b := range bases {
		sheet.Beds = append(sheet.Beds, bedOf(b))
	}
	if more := len(n.Bases) - len(bases); more > 0 {
		sheet.Notes = append(sheet.Notes, fmt.Sprintf("And %s of bases.", plural(more, "other pattern")))
	}
	page, err := sheet.Draw(wall.A3)
	if err != nil {
		return registry.Errorf(registry.Invalid, "the poster: %v", err)
	}
	err = replaceFile(to.file, 0o644, func(w io.Writer) error {
		return labels.WritePDF(w, sheet.Title, a.now(), page)
	})
	if err == nil {
		fmt.Fprintf(a.err, "wrote %s\n", to.file)
	}
	return err
}
