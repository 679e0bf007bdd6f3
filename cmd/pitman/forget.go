package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/forget"
)

func (a *app) forgetCommand() *cobra.Command {
	var who forget.Who
	var preview bool
	cmd := &cobra.Command{
		Use:   "forget --donor NAME",
		Short: "Put the name of a person out of the records and their history, for good",
		Long: `Empties the donor or contact of that name, and cuts the name out of notes and whatever else is
typed freely. In the history the texts in which it stood are put out whole. What was done stays, with
who did it and when, and pitman verify still vouches for all of it. Nothing brings the name back: it
cannot be undone.

--donor and --contact want somebody to bear the name; --name takes one that stands in notes, or in
what was undone. The name is put out wherever it stands, whichever was given. Give it as it was typed:
another spelling is another name; capitals, spaces and how an accent is stored make none.

A name in house.toml is told with its line; pitman does not write in that file. Take it out there and
forget it again: what the registry remembers that the file said before is put out then.

Backups made before have the name still, and so has a house that got a machine with its history. They
are named; pitman cannot reach into them. A house restored from such a backup has to forget again.`,
		Example: `  pitman forget --donor "Ada Merrow" --preview
  pitman forget --donor "Ada Merrow" --by QX`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if preview {
				return a.with(func(d *workplace) error {
					f, err := d.Forget(cmd.Context(), "", who, true)
					if err != nil {
						return err
					}
					return a.printForgotten(d, f)
				})
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				run := func(preview bool) error {
					f, err := d.Forget(cmd.Context(), by, who, preview)
					// perhaps it was killed once the name was out
					if registry.CodeOf(err) == registry.NotFound {
						return errors.Join(err, scrub(cmd.Context(), d))
					}
					if err == nil {
						err = a.printForgotten(d, f)
					}
					return err
				}
				if a.onTerminal() && !a.json {
					if err := run(true); err != nil {
						return err
					}
					yes, err := a.asker().yes("Put it out for good? Nothing brings it back.")
					if err != nil || !yes {
						return err
					}
				}
				if err := run(false); err != nil {
					return err
				}
				return scrub(cmd.Context(), d)
			})
		},
	}
	cmd.Flags().StringVar(&who.Donor, "donor", "", "`NAME` of a donor")
	cmd.Flags().StringVar(&who.Contact, "contact", "", "`NAME` of a partner's contact")
	cmd.Flags().StringVar(&who.Name, "name", "", "`NAME` that stands in notes alone")
	cmd.Flags().BoolVar(&preview, "preview", false, "say what would be put out, and change nothing")
	cmd.MarkFlagsOneRequired("donor", "contact", "name")
	cmd.MarkFlagsMutuallyExclusive("donor", "contact", "name")
	return cmd
}

// scrub clears the file of what was put out of it.
func scrub(ctx context.Context, d *workplace) error {
	err := d.db.Scrub(ctx)
	if err == nil {
		return nil
	}
	return registry.Errorf(registry.Conflict,
		"the name is put out, but bytes of it may be left in pitman.db until its unused room is cleared: %v; "+
			"give the same again while no other program has the house open, or make a backup and restore it, "+
			"which brings no such bytes", err)
}

// printForgotten says what was put out, and where the name is left.
func (a *app) printForgotten(d *workplace, f forget.Forgotten) error {
	result := struct {
		forget.Forgotten
		Backups []string `json:"backups"` // that have the name still
	}{f, d.house.MadeSince(f.Since)}
	return a.print(result, func(w io.Writer) {
		does := "put out"
		if f.Preview {
			does = "would be put out"
		}
		fmt.Fprintf(w, "%s of records and %s of history %s", plural(f.Records, "text"),
			plural(f.Lines, "line"),
			does)
		if len(f.Subjects) > 0 {
			fmt.Fprintf(w, ": %s", registry.FirstFew(f.Subjects))
		}
		fmt.Fprintln(w)
		if len(f.Open) > 0 {
			fmt.Fprintf(w, "It stands still where no name belongs, and in the history of that: %s\n",
				registry.FirstFew(f.Open))
		}
		for _, line := range f.Settings {
			fmt.Fprintf(w,
				"It stands still in house.toml, line %d, and the registry remembers that: take it "+
					"out there, then give the same with --name.\n", line)
		}
		for _, to := range f.Houses {
			fmt.Fprintf(w, "The house %s got some of it with its machines: ask it to forget, too.\n", to)
		}
		for _, file := range result.Backups {
			fmt.Fprintf(w, "The name stands still in the backup %s\n", file)
		}
		if len(result.Backups) > 0 && !f.Preview {
			fmt.Fprintln(w, "Next: pitman backup; then remove those when they are no longer needed.")
		}
	})
}
