package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	screen "pitman/cmd/pitman/desk"
	"pitman/labels"
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
				return registry.Errorf(registry.Invalid,
					"the desk needs a terminal: run pitman desk in a terminal window, or pitman log and its neighbours in a script")
			}
			return a.with(func(d *desk) error {
				if _, err := d.Tables(); err != nil { // what it says of them must not come into the screen
					return err
				}
				label := func(by registry.Initials, tag registry.Tag) (string, error) {
					return a.deskLabel(cmd.Context(), d, by, tag)
				}
				return screen.Run(screen.New(cmd.Context(), d.Workshop, d.house.Dir, by, label))
			})
		},
	}
}

// deskLabel writes a machine's label into the labels folder of the house and hands it to the house's printer, if it has one.
func (a *app) deskLabel(ctx context.Context, d *desk, by registry.Initials, tag registry.Tag) (string, error) {
	folder := filepath.Join(d.house.Dir, "labels")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	file := filepath.Join(folder, string(tag)+".pdf")
	quiet := *a
	quiet.out, quiet.json, quiet.by = io.Discard, false, string(by)
	s, err := schemeOf(d.Config)
	if err != nil {
		return "", err
	}
	q := labelRequest{out: outFile{name: file}, sheet: labels.SheetOptions{StartAt: 1}}
	faces, err := d.faces(ctx, s, &q, []string{string(tag)})
	if err != nil {
		return "", err
	}
	if err := quiet.printLabels(ctx, d, s, faces, &q); err != nil {
		return "", err
	}
	words := strings.Fields(d.Config.Desk.Print)
	if len(words) == 0 {
		return fmt.Sprintf("The label is in the file labels/%s.pdf of the house. (house.toml can name a printer: [desk] print.)", tag), nil
	}
	ctx, stop := context.WithTimeout(ctx, 15*time.Second)
	defer stop()
	if out, err := exec.CommandContext(ctx, words[0], append(words[1:], file)...).CombinedOutput(); err != nil {
		return "", registry.Errorf(registry.Conflict,
			"the label is in labels/%s.pdf, but %q did not print it (%v %s): check the printer, and print in [desk] of house.toml",
			tag, d.Config.Desk.Print, err, strings.TrimSpace(string(out)))
	}
	return fmt.Sprintf("The label of %s went to the printer.", tag), nil
}
