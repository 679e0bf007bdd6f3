package main

import (
	"context"
	"errors"
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
	"pitman/registry/phone"
)

func (a *app) deskCommand() *cobra.Command {
	var plain, practice bool
	cmd := &cobra.Command{
		Use:   "desk",
		Short: "One screen for the whole sewing day, for keyboard and scanner",
		Long: `One full screen for the whole sewing day: log machines, look them up, test them, by
single keys that are written on the screen. Scan a tag anywhere and that machine opens. Esc always
goes back and loses nothing.

Works with a plain keyboard, a handheld scanner that types a tag and Enter, over SSH, and without
colour. With --plain it goes line by line, with the same words: for a screen reader, or a terminal
that can do no more (TERM=dumb).

With --practice it works on a copy of the house, which is thrown away at the end: nothing that is
done there counts.`,
		Example: "  pitman desk\n  pitman desk --by QX\n  pitman desk --practice\n  pitman desk --plain",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var by registry.Initials
			if a.hasActor() {
				var err error
				if by, err = a.actor(); err != nil {
					return err
				}
			}
			if a.getenv("TERM") == "dumb" {
				plain = true
			}
			if !plain && !a.onTerminal() {
				return registry.Errorf(registry.Invalid,
					"the desk needs a terminal: run pitman desk in a terminal window, or pitman log and "+
						"its neighbours in a script; pitman desk --plain goes line by line, and needs none")
			}
			if practice {
				return a.practise(cmd.Context(), by, plain)
			}
			return a.with(func(d *workplace) error {
				if err := soundToStart(cmd.Context(), d); err != nil {
					return err
				}
				if _, err := d.Tables(); err != nil { // what it says of them must not come into the screen
					return err
				}
				label := func(by registry.Initials, tag registry.Tag) (string, error) {
					return a.deskLabel(cmd.Context(), d, by, tag)
				}
				desk := screen.New(cmd.Context(), d.Workshop, d.house.Dir, by,
					screen.Outside{Label: label, Pair: a.pairOnDesk(d.house.Dir)})
				return a.showDesk(desk, plain)
			})
		},
	}
	cmd.Flags().BoolVar(&plain, "plain", false, "line by line, for screen readers and simple terminals")
	cmd.Flags().BoolVar(&practice, "practice", false,
		"practise on a copy of the house, which is thrown away at the end")
	return cmd
}

// pairOnDesk makes the codes by which phones are paired at the desk.
func (a *app) pairOnDesk(dir string) screen.Pair {
	return func(by registry.Initials) (screen.Pairing, error) {
		c, err := pairWith(phone.In(dir, a.now), by)
		if err != nil {
			return screen.Pairing{}, err
		}
		return screen.Pairing{Symbol: c.rows(), At: c.page(), Code: c.Code, Here: c.here()}, nil
	}
}

func (a *app) showDesk(d *screen.Desk, plain bool) error {
	if plain {
		return screen.RunPlain(d, a.in, a.out, a.unseen)
	}
	return screen.Run(d)
}

// practise shows the desk of a copy of the house. Nothing is printed there: a label from a game would end on
// a machine.
func (a *app) practise(ctx context.Context, by registry.Initials, plain bool) (err error) {
	folder, err := os.MkdirTemp("", "pitman-practice-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	copied := filepath.Join(folder, "house")
	if err := a.with(func(d *workplace) error { return d.house.CopyFor(ctx, d.db, copied) }); err != nil {
		return err
	}
	game := *a
	game.houseDir = copied
	err = game.with(func(d *workplace) error {
		d.Config.House.Name = "PRACTICE, nothing counts: " + d.Config.House.Name
		return game.showDesk(screen.New(ctx, d.Workshop, copied, by, screen.Outside{}), plain)
	})
	if err == nil {
		fmt.Fprintln(a.err, "That was practice: nothing of it is in the house.")
	}
	return err
}

// deskLabel writes a machine's label into the labels folder of the house and hands it to the house's printer,
// if it has one.
func (a *app) deskLabel(ctx context.Context, d *workplace, by registry.Initials,
	tag registry.Tag) (string, error) {
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
		return fmt.Sprintf("The label is in the file labels/%s.pdf of the house. (house.toml can name a "+
			"printer: [desk] print.)", tag), nil
	}
	ctx, stop := context.WithTimeout(ctx, 15*time.Second)
	defer stop()
	if out, err := exec.CommandContext(ctx, words[0],
		append(words[1:], file)...).CombinedOutput(); err != nil {
		return "", registry.Errorf(registry.Conflict,
			"the label is in labels/%s.pdf, but %q did not print it (%v %s): check the printer, and print "+
				"in [desk] of house.toml",
			tag, d.Config.Desk.Print, err, strings.TrimSpace(string(out)))
	}
	return fmt.Sprintf("The label of %s went to the printer.", tag), nil
}
