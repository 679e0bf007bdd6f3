package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/pin"
	"pitman/registry/stock"
)

func (a *app) peopleCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "people",
		Short: "List who has acted in this house",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				people := []stock.Person{}
				err := d.Store.View(cmd.Context(), func(r stock.Reader) error {
					found, err := r.People()
					people = append(people, found...)
					return err
				})
				if err != nil {
					return err
				}
				return a.print(people, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w, "who\tsince\tlast\tactions")
						for _, p := range people {
							fmt.Fprintf(w, "%s\t%s\t%s\t%d\n", p.Initials, d.localDate(p.Since),
								d.localDate(p.Last), p.Actions)
						}
					})
				})
			})
		},
	}
	cmd.AddCommand(a.peoplePINCommand(), a.peopleHistoryCommand())
	return cmd
}

func (a *app) peoplePINCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "pin INITIALS",
		Short: "Set the PIN by which somebody signs, or another in its place",
		Long: `A competent person signs with a PIN for an electrical safety pass, for the word that
nothing on a machine takes the mains any more, and for an untested sale. A fail or a hold asks for none.

Asks for the present PIN, if there is one, for the new one and for that again. Where it is at no
terminal it reads these from its input, one a line. Everybody sets their first PIN themselves. Who
forgot theirs asks a coordinator, whom house.toml names under [house] coordinators: with --by and
the coordinator's initials it asks for the coordinator's PIN instead of the present one.

To sign at no terminal, name a file with the PIN in ` + pinFile + `.`,
		Example: `  pitman people pin EL
  pitman people pin EL --by KC`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			who, err := registry.ParseInitials(args[0])
			if err != nil {
				return err
			}
			by := who // whoever sits here says so with the argument, whatever the environment says
			if a.by != "" {
				if by, err = registry.ParseInitials(a.by); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) error {
				rec, err := a.setPIN(cmd.Context(), d, by, who)
				if err != nil {
					return err
				}
				return a.print(rec, func(w io.Writer) { fmt.Fprintf(w, "%s has a new PIN.\n", who) })
			})
		},
	}
	return cmd
}

// setPIN asks for what it takes to give somebody a PIN, or reads it, and keeps it.
func (a *app) setPIN(ctx context.Context, d *workplace, by, who registry.Initials) (*pin.Record, error) {
	gives, err := d.Pins.MaySet(ctx, by, who)
	if err != nil {
		return nil, err
	}
	var proof *pin.Proof
	var fresh string
	if a.onTerminal() {
		if gives != "" {
			if proof, err = a.askPIN(ctx, d.Pins, gives, "Present PIN of "+string(gives)); err != nil {
				return nil, err
			}
		}
		defer a.unseen()()
		fresh, err = a.askNewPIN(ctx, who)
	} else {
		var present string
		if present, fresh, err = a.readNewPIN(gives, who); err == nil && gives != "" {
			proof, err = a.givePIN(ctx, d.Pins, gives, present)
		}
	}
	if err != nil {
		return nil, err
	}
	d.Prove = nil // what is needed was asked for
	return d.Pins.Set(stock.WithProof(ctx, proof), by, who, fresh)
}

// askNewPIN asks until the same PIN was typed twice.
func (a *app) askNewPIN(ctx context.Context, who registry.Initials) (string, error) {
	for {
		typed, err := a.hidden(ctx, fmt.Sprintf("New PIN for %s:", who))
		if err != nil {
			return "", err
		}
		if typed == "" {
			return "", registry.Errorf(registry.Conflict, "no PIN was chosen: nothing was written; do it "+
				"once more and type one of four characters or more, twice")
		}
		fresh, err := pin.Read(typed)
		if err == nil {
			if typed, err = a.hidden(ctx, "The same again:"); err != nil {
				return "", err
			}
			if err = pin.Same(fresh, typed); err == nil {
				return fresh, nil
			}
		}
		fmt.Fprintf(a.err, "  %s\n", told(err, nil))
	}
}

// readNewPIN reads the present PIN, where one has to be given, the new one and that again. The present one
// may stand in the file for whoever signs instead.
func (a *app) readNewPIN(gives, who registry.Initials) (present, fresh string, err error) {
	text, err := io.ReadAll(io.LimitReader(a.in, 3*pin.MaxFile+1))
	if err != nil {
		return "", "", err
	}
	lines, err := pin.Lines(text, 3*pin.MaxFile)
	if err != nil {
		return "", "", err
	}
	switch {
	case len(lines) == 3 && gives == "" && lines[0] == "":
		lines = lines[1:]
	case len(lines) == 3 && gives != "":
		present, lines = lines[0], lines[1:]
	case len(lines) == 2 && gives != "" && a.getenv(pinFile) != "":
		if present, err = readPIN(a.getenv(pinFile)); err != nil {
			return "", "", err
		}
	}
	if len(lines) != 2 || gives != "" && present == "" {
		asked := fmt.Sprintf("%s has no PIN yet: give the new one and the same again", who)
		if gives != "" {
			asked = fmt.Sprintf("give the present PIN of %s, the new one for %s and that again", gives, who)
		}
		return "", "", registry.Errorf(registry.Invalid, "%s were given: %s, one a line",
			plural(len(lines), "line"), asked).On("pin")
	}
	if fresh, err = pin.Read(lines[0]); err == nil {
		err = pin.Same(fresh, lines[1])
	}
	return present, fresh, err
}

func (a *app) peopleHistoryCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "history INITIALS",
		Short:   "Show when somebody's PIN was set, by whom, and when a wrong one was given",
		Example: "  pitman people history EL",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			who, err := registry.ParseInitials(args[0])
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				events := []registry.Event{}
				err := d.Store.View(cmd.Context(), func(r stock.Reader) error {
					found, err := r.History(pin.SubjectOf(who))
					events = append(events, found...)
					return err
				})
				if err != nil {
					return err
				}
				return a.print(events, func(w io.Writer) {
					if len(events) == 0 {
						fmt.Fprintf(w, "%s has no PIN.\n", who)
					}
					d.printEvents(w, events)
				})
			})
		},
	}
}
