package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry/stock"
)

func (a *app) bedCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "bed", Short: "Bed patterns, so that nobody measures each head",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() }}
	cmd.AddCommand(&cobra.Command{
		Use:   "list",
		Short: "Print the house's list of bed patterns: pick one with --bed-pattern instead of measuring",
		Long: `Prints the bed patterns of lists/beds.csv in the house, or the ones that come with
pitman. Machines that share a casting share a row: pitman log --bed-pattern NAME fills in its
measures, wherever none is given. lists/models.csv gives a bed pattern, needle system and bobbin
class to every machine of a model.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return a.with(func(d *workplace) error {
				beds, err := d.Lists.Stock.Beds()
				if err != nil {
					return err
				}
				return a.print(beds, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w,
							"bed\twhat\tlength × width\tpins\twheel\tgroove\tneedle\tbobbin\tweight")
						for _, b := range beds {
							fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", b.Bed, orDash(b.What),
								byWidth(b.Length, b.Width), b.Pins, b.Wheel,
								orUnknown(b.Groove), orDash(b.Needle), orDash(b.Bobbin), b.Weight)
						}
					})
				})
			})
		},
	})
	return cmd
}

func orUnknown(answer stock.Answer) string {
	if answer == "" {
		return "unknown"
	}
	return string(answer)
}
