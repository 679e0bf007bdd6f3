package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry/archive"
	"pitman/registry/house"
)

func (a *app) tablesHistoryCommand() *cobra.Command {
	var identity string
	cmd := &cobra.Command{
		Use:   "history",
		Short: "See how the tables changed, by the house's backups",
		Long: `Compares the tables in each backup in the folder backups with those in the next, and the last
with the tables of today: which file came, went or changed, and which lines. People edit tables outside
of pitman, so nobody knows more than the two moments between which it was done.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			h, err := house.Open(a.dir())
			if err != nil {
				return err
			}
			keys, err := archive.ReadKeys(identity)
			if err != nil {
				return err
			}
			history, err := h.TableHistory(keys)
			if err != nil {
				return err
			}
			return a.print(history, func(w io.Writer) { printTableHistory(w, history) })
		},
	}
	cmd.Flags().StringVar(&identity, "identity", "", "the `FILE` with the key of encrypted backups")
	return cmd
}

// maxTold is how many lines of one change are told to a person; the rest are counted.
const maxTold = 20

func printTableHistory(w io.Writer, h *house.TableHistory) {
	const moment = "2006-01-02 15:04:05 UTC"
	switch {
	case h.Backups == 0:
		fmt.Fprintln(w,
			"No backup that can be read is in the folder backups, so nothing is known of earlier "+
				"tables: pitman backup keeps them from now on.")
	case len(h.Changes) == 0:
		fmt.Fprintf(w, "The tables are as they were on %s, by %s.\n", h.First.UTC().Format(moment),
			plural(h.Backups, "backup"))
	}
	for _, c := range h.Changes {
		when := "since the backup of " + c.After.UTC().Format(moment)
		if !c.Before.IsZero() {
			when = "between the backups of " + c.After.UTC().Format(moment) + " and " +
				c.Before.UTC().Format(moment)
		}
		fmt.Fprintf(w, "%s is %s %s: %s more, %s gone\n", c.File, c.What, when, plural(len(c.Added), "line"),
			plural(len(c.Removed), "line"))
		if c.What == "changed" {
			tellLines(w, "+ ", c.Added)
			tellLines(w, "- ", c.Removed)
		}
	}
	if len(h.Unread) > 0 {
		fmt.Fprintf(w, "Not read, since encrypted or damaged: %s\n", strings.Join(h.Unread, ", "))
	}
}

func tellLines(w io.Writer, mark string, lines []string) {
	for i, line := range lines {
		if i == maxTold {
			fmt.Fprintf(w, "  %s%d more\n", mark, len(lines)-maxTold)
			return
		}
		fmt.Fprintf(w, "  %s%.200s\n", mark, line)
	}
}
