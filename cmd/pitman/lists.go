package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/lists"
)

// listRow is a list that a house can edit.
type listRow struct {
	Name  string `json:"name"`
	Whose string `json:"whose"` // house or built in
}

func (a *app) listsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "lists",
		Short: "The house's editable lists: jobs, test points, parts, label stock; copy one to change it",
		Long: `A house changes a list by keeping a file of that name in its folder lists. Copy one
to begin with, edit it in any spreadsheet, and it counts at the next command.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			texts, err := builtInLists()
			if err != nil {
				return err
			}
			rows := []listRow{}
			for _, name := range slices.Sorted(maps.Keys(texts)) {
				whose := "built in"
				if _, err := os.Stat(a.listFile(name)); err == nil {
					whose = "house"
				}
				rows = append(rows, listRow{name, whose})
			}
			return a.print(rows, func(w io.Writer) {
				columns(w, func(w io.Writer) {
					for _, row := range rows {
						fmt.Fprintf(w, "%s\t%s\n", row.Name, row.Whose)
					}
				})
			})
		},
	}
	cmd.AddCommand(a.listsCopyCommand(), a.listsCheckCommand())
	return cmd
}

// builtInLists are the lists that a house can change, as the program carries them. The label stock belongs to
// package labels, and is a list like the others to whoever edits it.
func builtInLists() (map[string][]byte, error) {
	texts := map[string][]byte{stockFile: labels.DefaultStockCSV}
	names, err := fs.Glob(lists.Defaults(), "*.csv")
	for _, name := range names {
		if texts[name], err = fs.ReadFile(lists.Defaults(), name); err != nil {
			break
		}
	}
	return texts, err
}

func (a *app) listFile(name string) string { return filepath.Join(a.dir(), lists.Folder, name) }

func (a *app) listsCopyCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "copy NAME",
		Short:   "Copy a built-in list into the house, to edit it there",
		Example: `  pitman lists copy jobs`,
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			name := args[0]
			if !strings.HasSuffix(name, ".csv") {
				name += ".csv"
			}
			if _, err := house.Open(a.dir()); err != nil {
				return err
			}
			texts, err := builtInLists()
			if err != nil {
				return err
			}
			text, known := texts[name]
			if !known {
				return registry.Errorf(registry.Invalid,
					"list %q is not known: pitman lists shows their names", args[0])
			}
			file := a.listFile(name)
			if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
				return err
			}
			f, err := os.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
			if errors.Is(err, fs.ErrExist) {
				return registry.Errorf(registry.Conflict, "the house has its own %s already: edit %s", name,
					file)
			}
			if err != nil {
				return err
			}
			if _, err := f.Write(text); err != nil {
				return errors.Join(err, f.Close())
			}
			if err := f.Close(); err != nil {
				return err
			}
			return a.print(listRow{name, "house"},
				func(w io.Writer) {
					fmt.Fprintf(w, "made %s: edit it, it counts at the next command.\n",
						file)
				})
		},
	}
}

func (a *app) listsCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Read every list and name each fault with file and line",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			h, err := house.Open(a.dir())
			if err != nil {
				return err
			}
			_, labelStock := stockTable(h.Dir)
			faults := append([]lists.Fault{}, lists.FaultsOf(errors.Join(h.CheckLists(), labelStock))...)
			var notes []string
			if len(faults) == 0 {
				if notes, err = h.ListNotes(); err != nil {
					return err
				}
			}
			for _, note := range notes { // these first: right is only what is left
				fmt.Fprintf(a.err, "%s.\n", note)
			}
			if err := a.print(faults, func(w io.Writer) {
				for _, fault := range faults {
					fmt.Fprintln(w, fault)
				}
				switch {
				case len(faults) > 0:
				case len(notes) > 0:
					fmt.Fprintln(w, "No list has a fault.")
				default:
					fmt.Fprintln(w, "Every list is right.")
				}
			}); err != nil {
				return err
			}
			if len(faults) > 0 {
				return errQuiet
			}
			return nil
		},
	}
}
