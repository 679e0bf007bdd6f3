package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry/shipments"
)

func printShipments(w io.Writer, d *workplace, list []shipments.View) {
	if len(list) == 0 {
		fmt.Fprintln(w, "No shipment is here: the first is begun with pitman shipment new")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "shipment\tcontainer\tleaves\tstate\torders\tpallets\tfloor\tweight")
		for i := range list {
			v := &list[i]
			leaves := orDash(v.Day)
			if v.State != shipments.Open {
				leaves = d.localDate(v.LeftAt)
			}
			fmt.Fprintf(w, "%s\t%s ft\t%s\t%s\t%d\t%d\t%.0f %%\t%s\n", v.ID, v.Container, leaves, v.State,
				len(v.Loads), len(v.Plan.Pallets), 100*v.Plan.Floor, weightShare(v.Plan))
		}
	})
	fmt.Fprintln(w, plural(len(list), "shipment"))
}

func weightShare(p *shipments.Plan) string {
	share := fmt.Sprintf("%.0f %%", 100*p.Weight)
	if p.Unweighed > 0 {
		share += " or more"
	}
	return share
}

func (a *app) printShipment(cmd *cobra.Command, d *workplace, number string) error {
	v, err := d.ViewShipment(cmd.Context(), number)
	if err != nil {
		return err
	}
	return a.print(v, func(w io.Writer) { writeShipment(w, d, v) })
}

func writeShipment(w io.Writer, d *workplace, v *shipments.View) {
	fmt.Fprintf(w, "%s  %s ft container\n", v.ID, v.Container)
	columns(w, func(w io.Writer) {
		row := func(name, value string) {
			if value != "" {
				fmt.Fprintf(w, "  %s\t%s\n", name, value)
			}
		}
		row("state", string(v.State))
		if v.State == shipments.Open {
			row("leaves", orDash(v.Day))
		} else {
			row("left", fmt.Sprintf("%s by %s", d.localDate(v.LeftAt), v.LeftBy))
		}
		row("arrived", v.Arrived)
		row("receipt", v.Receipt)
		row("damage", v.Damage)
		if v.Freight != nil {
			row("freight", fmt.Sprintf("%.2f %s", *v.Freight, v.Currency))
		}
		row("note", v.Note)
		row("opened", fmt.Sprintf("%s by %s", d.localDate(v.OpenedAt), v.OpenedBy))
	})
	if len(v.Loads) == 0 {
		fmt.Fprintf(w, "Nothing is on it: pitman shipment add %s ORDER\n", v.ID)
		return
	}
	share := func(of *float64) string {
		if of == nil {
			return "-"
		}
		return strconv.FormatFloat(*of, 'f', 2, 64)
	}
	columns(w, func(w io.Writer) {
		freight := ""
		if v.Freight != nil {
			freight = "\tfreight by kg\tby m³"
		}
		fmt.Fprintf(w, "order\tfor\tgoes\tpacked\tpallets\tgross kg\tm³%s\n", freight)
		for i := range v.Loads {
			l := &v.Loads[i]
			goes := "whole"
			if l.Part {
				goes = "part"
			}
			gross := strconv.FormatFloat(l.Gross.KG(), 'f', 1, 64)
			if l.Unweighed > 0 {
				gross = "not known"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%d of %d\t%d\t%s\t%.2f", l.Order, l.Partner, goes, l.Packed,
				l.Places, l.Pallets, gross, l.CubicMetres)
			if v.Freight != nil {
				fmt.Fprintf(w, "\t%s\t%s", share(l.ByWeight), share(l.ByRoom))
			}
			fmt.Fprintln(w)
		}
	})
	writeFill(w, v.Plan)
}

// writeFill says how full the container is, and what is wrong with the plan.
func writeFill(w io.Writer, p *shipments.Plan) {
	fmt.Fprintf(w, "%s in a %s container: %.0f %% of its floor", plural(len(p.Pallets), "pallet"),
		p.Container,
		100*p.Floor)
	if p.Unweighed > 0 {
		fmt.Fprintf(w, "; %s not weighed in full, the rest %s", plural(p.Unweighed, "pallet"), p.Gross)
	} else {
		fmt.Fprintf(w, ", %s of about %d kg (%.0f %%)", p.Gross, p.Payload, 100*p.Weight)
	}
	fmt.Fprintln(w)
	if p.Placed < len(p.Pallets) {
		proved := "no plan places more"
		if !p.Exact {
			proved = fmt.Sprintf("no plan places more than %d", p.AtMost)
		}
		fmt.Fprintf(w, "The floor takes %d of them; %s\n", p.Placed, proved)
	}
	for _, order := range p.Unknown {
		fmt.Fprintf(w, "! no size is known for the crates of %s: measure its pallets\n", order)
	}
	for _, trouble := range p.Troubles() {
		fmt.Fprintf(w, "! %s\n", trouble)
	}
}

func writePlan(w io.Writer, v *shipments.View) {
	p := v.Plan
	fmt.Fprintf(w, "%s: %s container, inside at least %d × %d × %d mm\n", v.ID, p.Container, p.Length,
		p.Width, p.Height)
	for _, line := range floorText(p) {
		fmt.Fprintln(w, line)
	}
	columns(w, func(w io.Writer) {
		if len(p.Pallets) > 0 {
			fmt.Fprintln(w, "pallet\torder\tfor\ton it\tmm\tkg\tfrom front\tfrom left")
		}
		for i := range p.Pallets {
			one := &p.Pallets[i]
			on, spot := "as measured", "no room\t-"
			if !one.Measured {
				on = fmt.Sprintf("%s of %s", plural(one.Crates, "crate"), one.For)
			}
			if one.Spot != nil {
				spot = fmt.Sprintf("%.2f m\t%.2f m", float64(one.Spot.X)/1000, float64(one.Spot.Y)/1000)
			}
			kg := "not known"
			if one.Weight != nil {
				kg = strconv.FormatFloat(one.Weight.KG(), 'f', 1, 64)
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%d × %d × %d\t%s\t%s\n", one.Number, one.Order, one.Partner, on,
				one.Length, one.Width, one.Height, kg, spot)
		}
	})
	writeFill(w, p)
	if p.Centre != nil {
		towards := "the doors"
		if *p.Centre < 0 {
			towards = "the front wall"
		}
		fmt.Fprintf(w,
			"Centre of weight: %.2f m from the middle towards %s; the carrier says how much is allowed\n",
			float64(max(*p.Centre, -*p.Centre))/1000, towards)
	}
	if p.Placed == len(p.Pallets) {
		fmt.Fprintf(w, "Room for %s more of the house's, by the floor\n", plural(p.Room, "pallet"))
	}
	for _, o := range p.Next {
		what := fmt.Sprintf("%s for %s, due %s (%s, %s)", o.Order, o.Partner, o.Due,
			plural(o.Pallets, "pallet"), o.Weight)
		if o.Fits {
			fmt.Fprintf(w, "Goes in as well: %s: pitman shipment add %s %s --part\n", what, v.ID, o.Order)
		} else {
			fmt.Fprintf(w, "Does not go in as well: %s: %s\n", what, o.Why)
		}
	}
}

// floorText draws the floor in letters, the front wall to the left.
func floorText(p *shipments.Plan) []string {
	const columns, across = 58, 250
	along, rows := p.Length/columns, p.Width/across
	grid := make([][]rune, rows)
	for y := range grid {
		grid[y] = slices.Repeat([]rune{'.'}, columns)
	}
	for i := range p.Pallets {
		s := p.Pallets[i].Spot
		if s == nil {
			continue
		}
		x1, x2 := s.X/along, min((s.X+s.Length)/along, columns)-1
		y1, y2 := s.Y/across, min((s.Y+s.Width)/across, rows)-1
		for y := y1; y <= y2; y++ {
			for x := x1; x <= x2; x++ {
				grid[y][x] = ' '
				if y == y1 || y == y2 {
					grid[y][x] = '-'
				}
				if x == x1 || x == x2 {
					grid[y][x] = '|'
				}
			}
		}
		number := strconv.Itoa(i + 1)
		y, x := (y1+y2)/2, (x1+x2+1-len(number))/2
		for n, digit := range number {
			if x+n >= 0 && x+n < columns && y >= 0 && y < rows {
				grid[y][x+n] = digit
			}
		}
	}
	lines := make([]string, 0, rows)
	for _, row := range grid {
		lines = append(lines, "  ["+string(row)+"]")
	}
	return lines
}

// onBoardWords says which orders go with a shipment.
func onBoardWords(on []shipments.OnBoard) string {
	words := make([]string, len(on))
	for i, o := range on {
		if words[i] = o.Order; o.Part {
			words[i] += " in part"
		}
		for _, m := range o.Measured {
			words[i] += fmt.Sprintf(" (%d × %d × %d × %d mm, %s)", m.Count, m.Length, m.Width, m.Height,
				m.Weight)
		}
	}
	return strings.Join(words, ", ")
}
