package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/offers"
	"pitman/registry/stock"
)

// offered is one action as it is printed for one head or base.
type offered struct {
	typedMove
	Allowed bool   `json:"allowed"`
	Waits   bool   `json:"waits"`
	Refusal string `json:"refusal,omitempty"`
}

// printOffers tells what may be done now with what has this tag, and why the rest may not.
func (a *app) printOffers(ctx context.Context, typed string) error {
	tag, err := registry.ParseTag(typed)
	if err != nil {
		return err
	}
	return a.with(func(d *workplace) error {
		var offers []offers.Offer
		err := d.Store.View(ctx, func(r stock.Reader) (err error) {
			offers, err = d.AllowedAt(r, "", tag)
			return err
		})
		if err != nil {
			return err
		}
		list := make([]offered, len(offers))
		for i, o := range offers {
			list[i] = offered{typedMove: asTyped(o.Move), Allowed: o.Allowed, Waits: o.Waits}
			if o.Refusal != nil {
				list[i].Refusal = told(o.Refusal, nil)
			}
		}
		return a.print(list, func(w io.Writer) {
			columns(w, func(w io.Writer) {
				fmt.Fprintln(w, "what\tallowed\tneeds, or why not")
				for _, o := range list {
					switch {
					case o.Allowed:
						fmt.Fprintf(w, "%s\tyes\t%s\n", o.Action, orDash(o.Needs))
					case o.Waits:
						fmt.Fprintf(w, "%s\tnot yet\t%s\n", o.Action, o.Refusal)
					default:
						fmt.Fprintf(w, "%s\tno\t%s\n", o.Action, o.Refusal)
					}
				}
			})
		})
	})
}

// actionsOf names the actions of the table of moves that a command does to what is named behind it: those
// that commandOf has typed as the command with a tag behind it, or an order, whose pieces can follow. A
// command that has none takes every tag; so does one that corrects a base, of which lacking a part is only
// one thing that can come.
func actionsOf(command string) (actions []string) {
	for _, m := range registry.Moves {
		path, _, named := strings.Cut(commandOf[m.Action], " TAG")
		if before, _, order := strings.Cut(path, " ORDER"); order {
			path, named = before, true
		}
		if named && path == "pitman "+command && m.Action != registry.DoBaseLack &&
			!slices.Contains(actions, m.Action) {
			actions = append(actions, m.Action)
		}
	}
	return actions
}

// looked is how many tags a completion looks at for those that a command takes: a shell is not to be kept
// waiting in a big house.
const looked = 500

// tagsFor offers tags that begin so and that the command can do something to now, or will once what is
// missing is there; of an order, where one is named before them.
func (d *workplace) tagsFor(ctx context.Context, command, order, typed string) ([]string, error) {
	actions := actionsOf(command)
	if len(actions) == 0 {
		return d.tags(ctx, typed, completed)
	}
	var names, fit []string
	var err error
	if order != "" {
		names, err = d.tagsOn(ctx, order, typed)
	} else {
		names, err = d.tags(ctx, typed, looked)
	}
	if err != nil {
		return nil, err
	}
	takes := func(o offers.Offer) bool { return (o.Allowed || o.Waits) && slices.Contains(actions, o.Action) }
	err = d.Store.View(ctx, func(r stock.Reader) error {
		for _, name := range names {
			tag, _, _ := strings.Cut(name, "\t")
			offers, err := d.AllowedAt(r, "", registry.Tag(tag))
			if err != nil {
				return err
			}
			if slices.ContainsFunc(offers, takes) && len(fit) < completed {
				fit = append(fit, name)
			}
		}
		return nil
	})
	return fit, err
}

// commandPath is a command as it is typed behind the program's name.
func commandPath(cmd *cobra.Command) string {
	_, path, _ := strings.Cut(cmd.CommandPath(), " ")
	return path
}
