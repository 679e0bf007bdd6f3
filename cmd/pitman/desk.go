package main

import (
	"github.com/spf13/cobra"

	screen "pitman/cmd/pitman/desk"
	"pitman/registry"
)

func (a *app) deskCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "desk",
		Short: "One screen for the whole sewing day, for keyboard and scanner",
		Long: `One full screen for the whole sewing day: log machines, look them up, test them, by single keys that are
written on the screen. Scan a tag anywhere and that machine opens. Esc always goes back and loses nothing.

Works with a plain keyboard, a handheld scanner that types a tag and Enter, over SSH, and without colour.`,
		Example: "  pitman desk\n  pitman desk --by QX",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var by registry.Initials
			if a.hasActor() {
				var err error
				if by, err = a.actor(); err != nil {
					return err
				}
			}
			if !a.onTerminal() {
				return registry.Errorf(registry.Invalid, "the desk needs a terminal: run pitman desk in a terminal window, or pitman log and its neighbours in a script")
			}
			return a.with(func(d *desk) error {
				return screen.Run(screen.New(cmd.Context(), d.Workshop, d.house.Dir, by))
			})
		},
	}
}
