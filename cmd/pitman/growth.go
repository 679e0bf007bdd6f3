package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/ratios"
	"pitman/registry"
	"pitman/registry/growth"
	"pitman/registry/house"
)

// growthCommand is for developers: it shows how the registry does when it has grown for decades.
func (a *app) growthCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:    "growth",
		Short:  "Make large houses and measure how each command grows with them",
		Hidden: true,
		Args:   cobra.NoArgs,
		RunE:   func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	machines := 10_000
	fill := &cobra.Command{
		Use:     "make DIR",
		Short:   "Make an invented house with many machines",
		Example: "  pitman growth make grown/100000 --machines 100000",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if machines < 1 || machines > 10_000_000 {
				return registry.Errorf(registry.Invalid, "machines %d: give how many, from 1 to 10000000",
					machines)
			}
			if entries, err := os.ReadDir(args[0]); err == nil && len(entries) > 0 {
				return registry.Errorf(registry.Conflict,
					"%s is not empty: name a folder that is not there yet", args[0])
			}
			if _, err := house.Init(args[0], house.Defaults().House); err != nil {
				return err
			}
			h, err := house.Open(args[0])
			if err != nil {
				return err
			}
			db, err := h.Registry()
			if err != nil {
				return err
			}
			if err := errors.Join(growth.Fill(cmd.Context(), h, db, machines), db.Close()); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "%s  %s\n", args[0], plural(machines, "machine"))
			return nil
		},
	}
	fill.Flags().IntVar(&machines, "machines", machines, "`NUMBER` of machines")
	measure := &cobra.Command{
		Use:   "measure FOLDER",
		Short: "Run the commands in each house of a folder and print how their times grow, as ratios",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			self, err := os.Executable()
			if err != nil {
				return err
			}
			return ratios.Measure(cmd.Context(), self, args[0], a.out)
		},
	}
	cmd.AddCommand(fill, measure)
	return cmd
}
