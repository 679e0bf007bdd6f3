package main

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/labels/wall"
	"pitman/registry"
	"pitman/registry/reports"
	"pitman/registry/sheet"
)

func (a *app) reportFunderCommand() *cobra.Command {
	var from, to, by, file string
	cmd := &cobra.Command{
		Use:   "funder",
		Short: "Sum up what left for partners: by partner, country, drive and month; CSV, SVG or PDF",
		Long: `Says for those who pay for it what left for partners: machines and sets, kilograms with
their bases, declared value, what left on time or late, the hours that people wrote down, first-time
passes and the oldest machine. A .csv file has all groups, a .svg file the chart of one grouping, and
a .pdf file two pages with charts; each bears the house's name and the period.`,
		Example: `  pitman report funder --from 2031-01-01 --to 2031-12-31
  pitman report funder --from 2031-01-01 --to 2031-12-31 -o year.pdf
  pitman report funder --by country -o countries.svg`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if _, err := (&reports.Delivered{}).By(by); err != nil {
				return err
			}
			ending := strings.ToLower(filepath.Ext(file))
			if file != "" && !slices.Contains([]string{".csv", ".svg", ".pdf"}, ending) {
				return registry.Errorf(registry.Invalid,
					"out %q says no format: type a name that ends in .csv, .svg or .pdf", file).On("out")
			}
			return a.with(func(d *workplace) error {
				sums, err := d.Delivered(cmd.Context(), from, to)
				if err != nil {
					return err
				}
				if file != "" {
					day := d.Now().In(d.Location()).Format(time.DateOnly)
					write := map[string]func(io.Writer) error{
						".csv": func(w io.Writer) error { return funderCSV(w, sums) },
						".svg": func(w io.Writer) error { return funderSVG(w, sums, by, day) },
						".pdf": func(w io.Writer) error { return funderPDF(w, sums, day, a.now()) },
					}[ending]
					if err := replaceFile(file, 0o644, write); err != nil {
						return err
					}
					fmt.Fprintf(a.err, "wrote %s\n", file)
					if !a.json {
						return nil
					}
				}
				return a.print(sums, func(w io.Writer) { printFunder(w, sums) })
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&from, "from", "", "first `DAY`, such as 2031-01-01")
	flags.StringVar(&to, "to", "", "last `DAY`")
	flags.StringVar(&by, "by", "month", "`GROUPING` that a picture shows: partner, country, drive or month")
	flags.StringVarP(&file, "out", "o", "", "write it into `FILE`: .csv, .svg or .pdf")
	return cmd
}

// period says of which time a report is.
func period(d *reports.Delivered, day string) string {
	to := d.To
	if to == "" {
		to = day
	}
	return fmt.Sprintf("from %s to %s", orWord(d.From, "the first day"), to)
}

// keyFigures are what a funder asks first.
func keyFigures(d *reports.Delivered) (list []wall.Figure) {
	add := func(name, is string) { list = append(list, wall.Figure{Name: name, Is: is}) }
	g := &d.Sum
	add("machines that left", fmt.Sprintf("%d, of them %d sets with a base", g.Machines, g.Sets))
	add("kept in use", groupKG(g))
	add("declared value", groupValue(g, d.Currency))
	add("by their day", fmt.Sprintf("%d on time, %d late", g.OnTime, g.Late))
	hours := fmt.Sprintf("%.1f", d.Hours)
	if d.NotTimed > 0 {
		hours += fmt.Sprintf(" written down, and %s of unknown time", plural(d.NotTimed, "piece of work"))
	}
	add("hours of volunteers", hours)
	if d.FirstTested > 0 {
		add("passed the first time", fmt.Sprintf("%d of %d (%.0f %%)", d.FirstPassed, d.FirstTested,
			100*float64(d.FirstPassed)/float64(d.FirstTested)))
	} else {
		add("passed the first time", "nothing tested")
	}
	for _, line := range takingLines(d.Brought, d.Scrap) {
		add(line.name, line.is)
	}
	if d.Oldest != nil {
		add("oldest that left", fmt.Sprintf("%s, %s, %s", d.Oldest.Year, d.Oldest.Maker, d.Oldest.Tag))
	}
	return list
}

func groupKG(g *reports.Group) string {
	kg := fmt.Sprintf("%.1f kg with bases", g.NetKG)
	if g.Unweighed > 0 {
		kg += fmt.Sprintf(", and %s not weighed", plural(g.Unweighed, "piece"))
	}
	return kg
}

func groupValue(g *reports.Group, currency string) string {
	value := fmt.Sprintf("%.2f %s", g.Value, currency)
	switch {
	case g.Machines > 0 && g.NoValue == g.Machines:
		return "not known: none was declared"
	case g.NoValue > 0:
		value += fmt.Sprintf(", and %s without one", plural(g.NoValue, "machine"))
	}
	return value
}

// valueCell is a group's declared value in a table: no sum where nothing was declared.
func valueCell(g *reports.Group) string {
	switch {
	case g.NoValue == g.Machines:
		return "-"
	case g.NoValue > 0:
		return fmt.Sprintf("%.2f (%d without)", g.Value, g.NoValue)
	}
	return fmt.Sprintf("%.2f", g.Value)
}

// groupings are the parts of a report, in the order in which they are told.
func groupings(d *reports.Delivered) []struct {
	name   string
	groups []reports.Group
} {
	return []struct {
		name   string
		groups []reports.Group
	}{{"month", d.ByMonth}, {"drive", d.ByDrive}, {"partner", d.ByPartner}, {"country", d.ByCountry}}
}

func printFunder(w io.Writer, d *reports.Delivered) {
	fmt.Fprintf(w, "%s, %s\n", d.House, period(d, "today"))
	columns(w, func(w io.Writer) {
		for _, f := range keyFigures(d) {
			fmt.Fprintf(w, "%s\t%s\n", f.Name, f.Is)
		}
	})
	if d.Sum.Machines == 0 {
		return
	}
	for _, part := range groupings(d) {
		fmt.Fprintf(w, "By %s:\n", part.name)
		columns(w, func(w io.Writer) {
			fmt.Fprintf(w, "  %s\tmachines\tsets\tkg\t%s\ton time\tlate\n", part.name, d.Currency)
			for _, g := range part.groups {
				fmt.Fprintf(w, "  %s\t%d\t%d\t%.1f\t%s\t%d\t%d\n", g.Name, g.Machines, g.Sets, g.NetKG,
					valueCell(&g), g.OnTime, g.Late)
			}
		})
	}
}

func funderCSV(w io.Writer, d *reports.Delivered) error {
	out, err := sheet.NewWriter(w, []string{"by", "name", "machines", "sets", "net_kg", "unweighed", "value",
		"currency", "no_value", "on_time", "late"})
	if err != nil {
		return err
	}
	row := func(by string, g reports.Group) error {
		return out.Write([]string{by, g.Name, strconv.Itoa(g.Machines), strconv.Itoa(g.Sets),
			strconv.FormatFloat(g.NetKG, 'f', -1, 64), strconv.Itoa(g.Unweighed),
			strconv.FormatFloat(g.Value, 'f', 2, 64), d.Currency, strconv.Itoa(g.NoValue),
			strconv.Itoa(g.OnTime), strconv.Itoa(g.Late)})
	}
	for _, part := range groupings(d) {
		for _, g := range part.groups {
			if err := row(part.name, g); err != nil {
				return err
			}
		}
	}
	if err := row("total", d.Sum); err != nil {
		return err
	}
	for _, s := range d.Brought {
		if err := out.Write([]string{"brought", string(s.Way), "", "", "", "", s.Brought.String(), s.Currency,
			"", "",
			""}); err != nil {
			return err
		}
	}
	return out.Flush()
}

// chartOf is the bars of a grouping: of many, the first, and the rest together. Of months the latest stand.
func chartOf(name string, groups []reports.Group) wall.Chart {
	c := wall.Chart{Title: "Machines that left, by " + name}
	shown, rest := groups, []reports.Group{}
	if len(groups) > wall.MaxBars {
		const keep = wall.MaxBars - 1
		shown, rest = groups[:keep], groups[keep:]
		if name == "month" {
			shown, rest = groups[len(groups)-keep:], groups[:len(groups)-keep]
		}
	}
	most := 1
	for _, g := range shown {
		most = max(most, g.Machines)
	}
	for _, g := range shown {
		says := fmt.Sprintf("%d", g.Machines)
		if g.Sets > 0 {
			says += fmt.Sprintf(", %s", plural(g.Sets, "set"))
		}
		if g.Late > 0 {
			says += fmt.Sprintf(", %d late", g.Late)
		}
		c.Bars = append(c.Bars, wall.Share{Name: g.Name, Of: float64(g.Machines) / float64(most), Says: says})
	}
	if len(rest) > 0 {
		sum := 0
		for _, g := range rest {
			sum += g.Machines
		}
		word := "others"
		if name == "month" {
			word = "earlier months"
		}
		c.Bars = append(c.Bars, wall.Share{Name: fmt.Sprintf("%d %s", len(rest), word),
			Of: min(1, float64(sum)/float64(most)), Says: strconv.Itoa(sum)})
	}
	if len(c.Bars) == 0 {
		c.Bars = []wall.Share{{Name: "nothing left", Says: "0"}}
	}
	return c
}

func funderSVG(w io.Writer, d *reports.Delivered, by, day string) error {
	groups, err := d.By(by)
	if err != nil {
		return err
	}
	drawing, err := wall.Figures{Title: d.House, Lines: []string{period(d, day)},
		Charts: []wall.Chart{chartOf(by, groups)}}.Draw()
	if err != nil {
		return registry.Errorf(registry.Invalid, "the chart: %v", err)
	}
	return drawing.WriteSVG(w)
}

// funderPDF writes two pages: key figures, months and drives; then partners and countries.
func funderPDF(w io.Writer, d *reports.Delivered, day string, made time.Time) error {
	foot := func(page int) []string {
		return []string{"Value as declared on the papers; kilograms as weighed. Late is what left after " +
			"its order's " +
			"day.", fmt.Sprintf("%s, %s; page %d of 2; made on %s.", d.House, period(d, day), page, day)}
	}
	var pages []*labels.Drawing
	for i, p := range []wall.Figures{
		{Title: d.House + ": what left for partners", Lines: []string{period(d, day)}, Key: keyFigures(d),
			Charts: []wall.Chart{chartOf("month", d.ByMonth), chartOf("drive", d.ByDrive)}, Notes: foot(1)},
		{Title: d.House + ": for whom it left", Lines: []string{period(d, day)},
			Charts: []wall.Chart{chartOf("partner", d.ByPartner), chartOf("country", d.ByCountry)},
			Notes:  foot(2)},
	} {
		page, err := p.Draw()
		if err != nil {
			return registry.Errorf(registry.Invalid, "page %d: %v", i+1, err)
		}
		pages = append(pages, page)
	}
	return labels.WritePDF(w, d.House+": report", made, pages...)
}
