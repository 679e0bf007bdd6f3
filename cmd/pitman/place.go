package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// scanTags takes tags from the command line, or else from a scanner that types one a line. On a terminal a
// bad scan is said at once and the next one goes on, Enter alone ends; from a file or a pipe a bad line ends
// it, so that nobody takes half a list for a whole one.
func (a *app) scanTags(typed []string, what string) ([]registry.Tag, error) {
	if len(typed) > 0 {
		return parseTags(typed)
	}
	var tags []registry.Tag
	person := a.onTerminal()
	if person {
		fmt.Fprintf(a.err, "Scan %s, one label after another; Enter alone when done.\n", what)
	}
	q := a.asker()
	for n := 1; ; n++ {
		text, more, err := q.next()
		if err != nil {
			return nil, err
		}
		if !more || person && text == "" {
			return tags, nil
		}
		if text == "" {
			continue
		}
		tag, err := registry.ParseTag(text)
		switch {
		case err == nil:
			tags = append(tags, tag)
			if person {
				fmt.Fprintf(a.err, "  %s  %d so far\n", tag, len(tags))
			}
		case person:
			fmt.Fprintf(a.err, "  %s\n", err)
		default:
			return nil, registry.Errorf(registry.Invalid, "line %d: %v", n, err)
		}
	}
}

// scanUnits is scanTags, and takes note of what a scanner read where it hangs.
func (a *app) scanUnits(ctx context.Context, d *workplace, typed []string, what string) ([]registry.Tag,
	error) {
	tags, err := a.scanTags(typed, what)
	if err != nil || len(typed) > 0 {
		return tags, err
	}
	var by registry.Initials
	if a.hasActor() {
		if by, err = a.actor(); err != nil {
			return nil, err
		}
	}
	return tags, d.Scanned(ctx, by, tags...)
}

// parseTags reads tags from the command line.
func parseTags(typed []string) (tags []registry.Tag, err error) {
	for _, text := range typed {
		tag, err := registry.ParseTag(text)
		if err != nil {
			return nil, err
		}
		tags = append(tags, tag)
	}
	return tags, nil
}

func (a *app) moveCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "move [TAG...] PLACE",
		Short: "Put heads and bases in a place; scan their labels",
		Long: `Notes that heads and bases stand in another place: all of them, or none. With the
place alone, scan the labels (or pipe tags in, one a line).`,
		Example: `  pitman move PM16 PM24 "bay 2" --by QX
  pitman move "bay 2" --by QX < scanned.txt`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			place := args[len(args)-1]
			return a.withActor(func(d *workplace, by registry.Initials) error {
				var err error
				if place, err = d.PlaceNamed(cmd.Context(), place); err != nil {
					return err
				}
				tags, err := a.scanUnits(cmd.Context(), d, args[:len(args)-1], "what goes to "+place)
				if err != nil {
					return err
				}
				if place, err = a.settleWord(cmd.Context(), a.asker(), d.Words(), "place", "",
					place); err != nil {
					return err
				}
				moved, err := d.Move(cmd.Context(), by, tags, place)
				if err != nil {
					return err
				}
				v := struct {
					Place string       `json:"place"`
					Moved []stock.Unit `json:"moved"`
				}{place, moved}
				return a.print(v, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						for _, u := range moved {
							fmt.Fprintf(w, "%s\t%s\t%s → %s\n", u.Tag, u.Name, orDash(u.Place), place)
						}
					})
					for _, u := range moved {
						if caution := u.LiftCaution(); caution != "" {
							printCautions(w, fmt.Sprintf("%s: %s", u.Tag, caution))
						}
					}
				})
			})
		},
	}
}

func (a *app) countCommand() *cobra.Command {
	var correct bool
	cmd := &cobra.Command{
		Use:   "count PLACE [TAG...]",
		Short: "Scan what is at a place and see what is missing, and what is there by mistake",
		Long: `Holds the labels scanned at a place (or tags piped in, one a line) against the
records: heads and bases alike. It changes nothing unless told to with --correct; then what is there
by mistake belongs there, and what is missing has no place until it is found.`,
		Example: `  pitman count "bay 2" < scanned.txt
  pitman count "bay 2" --correct --by QX < scanned.txt`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			place := args[0]
			count := func(d *workplace, do func(tags []registry.Tag) (shelf.PlaceCount, error)) (err error) {
				if place, err = d.PlaceNamed(cmd.Context(), place); err != nil {
					return err
				}
				tags, err := a.scanUnits(cmd.Context(), d, args[1:], "what is at "+place)
				if err != nil {
					return err
				}
				c, err := do(tags)
				if err != nil {
					return err
				}
				return a.print(c, func(w io.Writer) { printCount(w, c) })
			}
			if correct {
				return a.withActor(func(d *workplace, by registry.Initials) error {
					return count(d, func(tags []registry.Tag) (shelf.PlaceCount, error) {
						return d.CorrectCount(cmd.Context(), by, place, tags)
					})
				})
			}
			return a.with(func(d *workplace) error {
				return count(d,
					func(tags []registry.Tag) (shelf.PlaceCount, error) {
						return d.Count(cmd.Context(), place, tags)
					})
			})
		},
	}
	cmd.Flags().BoolVar(&correct, "correct", false, "make the records say what was found")
	return cmd
}

func printCount(w io.Writer, c shelf.PlaceCount) {
	fmt.Fprintf(w, "%s: %d as the records say, %d missing, %d by mistake\n", c.Place, len(c.Found),
		len(c.Missing), len(c.ByMistake))
	columns(w, func(w io.Writer) {
		for _, u := range c.Missing {
			fmt.Fprintf(w, "  missing\t%s\t%s\t%s\n", u.Tag, u.Name, u.Stage)
		}
		for _, u := range c.ByMistake {
			where := "no place"
			if u.Place != "" {
				where = "belongs to " + u.Place
			}
			fmt.Fprintf(w, "  by mistake\t%s\t%s\t%s, %s\n", u.Tag, u.Name, u.Stage, where)
		}
		for _, u := range c.Gone {
			fmt.Fprintf(w, "  look again\t%s\t%s\t%s by the records, so not in the house\n", u.Tag, u.Name,
				u.Gone)
		}
	})
	switch {
	case c.Corrected:
		fmt.Fprintln(w,
			"Corrected: what was found belongs here now, and what is missing has no place until it is found.")
	case len(c.Missing)+len(c.ByMistake) > 0:
		fmt.Fprintln(w, "Nothing was changed: the same with --correct makes the records say what was found.")
	}
}

// placeName tells where something stands from where it stood before it left the house.
func placeName(here bool) string {
	if here {
		return "place"
	}
	return "last place"
}
