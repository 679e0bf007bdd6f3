package main

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"pitman/registry/archive"
	"pitman/registry/house"
)

func (a *app) initCommand() *cobra.Command {
	first := house.Defaults().House
	cmd := &cobra.Command{
		Use:   "init",
		Short: "Make a house folder: the registry, starter tables and house.toml",
		Long: `Makes the folder that holds everything the workshop owns, readable by you alone:
pitman.db (the registry), tables/*.csv (serial number tables, to be edited in any spreadsheet) and
house.toml (what the house decides for itself). What is there already is never touched.

On a terminal, pitman init without flags asks for the name, the letters and the rest, and ends with
the desk.`,
		Example: `  pitman init --name "Lantern Row" --letters LR --zone Europe/Lisbon`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			dir := a.dir()
			asks := cmd.LocalNonPersistentFlags().NFlag() == 0 && !a.json && a.onTerminal() &&
				!house.Exists(dir)
			var answers setup
			if asks {
				var err error
				if answers, err = a.askHouse(&first); err != nil {
					return err
				}
			}
			made, err := house.Init(dir, first)
			if err == nil && asks && slices.Contains(made, archive.ConfigFile) {
				err = answers.settle(dir)
			}
			if err != nil {
				return err
			}
			result := struct {
				House string   `json:"house"`
				Made  []string `json:"made"`
			}{dir, append([]string{}, made...)}
			err = a.print(result, func(w io.Writer) {
				if len(made) == 0 {
					fmt.Fprintf(w, "%s is a house already: nothing was changed.\n", dir)
					return
				}
				for _, name := range made {
					fmt.Fprintf(w, "made %s\n", filepath.Join(dir, name))
				}
				if slices.Contains(made, archive.ConfigFile) {
					fmt.Fprintf(w,
						"Tags will begin with %s: change letters in house.toml now if another house uses "+
							"them.\n", first.Letters)
				}
				fmt.Fprintf(w, "Next: pitman --house %s desk\n", dir)
				fmt.Fprintf(w,
					"Or one machine by a command, with your initials for QX: pitman --house %s log --by QX\n",
					dir)
			})
			if err != nil || !asks {
				return err
			}
			opens, err := a.further(dir)
			if err != nil || !opens {
				return err
			}
			root := cmd.Root()
			root.SetArgs([]string{"--house", dir, "desk"})
			return root.ExecuteContext(cmd.Context())
		},
	}
	cmd.Flags().StringVar(&first.Name, "name", first.Name, "`NAME` of the workshop")
	cmd.Flags().StringVar(&first.Letters, "letters", first.Letters,
		"`LETTERS` that every tag begins with, 1 to 4 capitals")
	cmd.Flags().StringVar(&first.Zone, "zone", first.Zone, "time `ZONE` for dates, by its IANA name")
	return cmd
}
