package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/exchange"
	"pitman/registry/photo"
)

func (a *app) bundleCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bundle",
		Short: "Hand machines and bases to another house, or take them over, by a file",
		Long: `Two houses that share no network hand machines to each other by a file, on a stick or
by mail. A machine keeps its tag and its whole history. See also: pitman help two-houses`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.bundleOutCommand(), a.bundleInCommand())
	return cmd
}

func (a *app) bundleOutCommand() *cobra.Command {
	var h exchange.HandOverOptions
	var with exchange.Head
	cmd := &cobra.Command{
		Use:   "out FILE [TAG...]",
		Short: "Write machines and bases with their history to a file for another house",
		Long: `Writes machines and treadle bases with all that ever happened to them. Name their
tags, or choose by --place; without either all go, except those that are reserved or packed for an
order of this house, or were handed to someone else.

The machines stay in this registry, marked as handed over, so that it can be seen where they went.
Work on them goes on in the other house. The same bundle can be written again.

With --stock nothing is handed over: the other house keeps the file beside its own stock
(pitman neighbour add), and counts what is ready here.`,
		Example: `  pitman bundle out stock.bundle --by QX --to Eldwray --stock
  pitman bundle out for-eldwray.bundle --by QX --to Eldwray --place "bay 2"
  pitman bundle out one.bundle --by QX --to Eldwray PM17X`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			if h.Tags, err = parseTags(args[1:]); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				with.To = h.To
				return a.bundleOut(cmd.Context(), d, by, args[0], h, with)
			})
		},
	}
	cmd.Flags().StringVar(&h.Place, "place", "", "only the machines at this `PLACE`")
	cmd.Flags().BoolVar(&with.Photos, "photos", false, "carry their pictures, too")
	cmd.Flags().BoolVar(&with.Stock, "stock", false,
		"only show what stands here, for another house to count: nothing is handed over, and no donor named")
	cmd.MarkFlagsMutuallyExclusive("photos", "stock")
	cmd.Flags().StringVar(&h.To, "to", "another house", "`NAME` of the house that gets them, for the history")
	return cmd
}

func (a *app) bundleOut(ctx context.Context, d *workplace, by registry.Initials, path string,
	h exchange.HandOverOptions, told exchange.Head) error {
	n := 0
	brought := photoNames{}
	var left []exchange.LeftBehind
	bar := meanwhile.NewProgress(a.stderr, "writing machines", 0)
	err := writeFile(path, func(w io.Writer) error {
		head, err := d.db.Head(ctx)
		if err != nil {
			return err
		}
		told.House, told.Letters = d.Config.House.Name, d.Config.House.Letters
		told.At, told.Chain = a.now().UTC(), &head
		out, err := exchange.NewBundle(w, told)
		if err != nil {
			return err
		}
		carry := func(c *exchange.UnitHistory) error {
			n++
			bar.At(int64(n))
			if err := out.Add(c); err != nil {
				return err
			}
			brought.see(c)
			return ctx.Err()
		}
		if told.Stock {
			left, err = d.ShowStock(ctx, h, carry)
		} else {
			left, err = d.HandOver(ctx, by, h, carry)
		}
		if err != nil {
			return err
		}
		if told.Photos {
			if err := d.carryPhotos(ctx, out, brought); err != nil {
				return err
			}
		}
		key, err := d.db.Key(ctx)
		if err != nil {
			return err
		}
		return out.Sign(key)
	})
	bar.Done()
	if err != nil {
		return err
	}
	result := struct {
		File  string                `json:"file"`
		Units int                   `json:"units"`
		Left  []exchange.LeftBehind `json:"left_behind"`
	}{path, n, append([]exchange.LeftBehind{}, left...)}
	return a.print(result, func(w io.Writer) {
		for _, l := range left {
			fmt.Fprintf(w, "%s stays: %s\n", l.Tag, l.Why)
		}
		units := fmt.Sprintf("%d %s", n, registry.Agree(n, "machine or base", "machines and bases"))
		there := "bundle in"
		if told.Stock {
			there = "neighbour add"
		}
		fmt.Fprintf(w, "wrote %s to %s\nThere: pitman %s %s\n", units, path, there, filepath.Base(path))
	})
}

func (a *app) bundleInCommand() *cobra.Command {
	var how exchange.Receiving
	var once string
	cmd := &cobra.Command{
		Use:   "in FILE",
		Short: "Take over the machines and bases that another house wrote to a file",
		Long: `Takes machines over with their tags and their history. What is here already changes
nothing, so the same file can be read again.

A machine that both houses went on working on, or that is here under another tag, is a clash: it is
shown, and nothing of it is taken over, while the others come in. The exit status is then 1.

A bundle of a house whose key is not known is only shown: see pitman help two-houses.`,
		Example: `  pitman bundle in from-lantern-row.bundle --preview
  pitman bundle in from-lantern-row.bundle --by QX`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if how.Preview {
				return a.with(func(d *workplace) error {
					return a.bundleIn(cmd.Context(), d, "", args[0], how,
						nil)
				})
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				signer, err := signerOf(args[0])
				if err != nil {
					return err
				}
				if unknown := unknownHouse(cmd, d, signer, once); unknown != nil {
					look := how
					look.Preview = true
					if err := a.bundleIn(cmd.Context(), d, by, args[0], look, nil); err != nil {
						return err
					}
					return unknown
				}
				return a.bundleIn(cmd.Context(), d, by, args[0], how, &signer)
			})
		},
	}
	cmd.Flags().BoolVar(&how.Preview, "preview", false, "show what would come in, and change nothing")
	cmd.Flags().StringVar(&once, "trust-once", "",
		"`INITIALS` of the coordinator who lets this bundle of an unknown house in")
	cmd.Flags().BoolVar(&how.Again, "again", false,
		"take a machine in although its maker and serial are here under another tag")
	return cmd
}

func signerOf(path string) (string, error) {
	file, err := openFile(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	return exchange.SignerOf(file)
}

// bundleIn takes a bundle in; signer is whose signature was looked at before, which the file must have still.
func (a *app) bundleIn(ctx context.Context, d *workplace, by registry.Initials, path string,
	how exchange.Receiving, signer *string) error {
	file, err := openFile(path)
	if err != nil {
		return err
	}
	defer file.Close()
	in, err := exchange.ReadBundle(file)
	if err != nil {
		return err
	}
	how.From, how.Name, how.Stock = in.Head.Letters, filepath.Base(path), in.Head.Stock
	if signer != nil {
		how.Signer = *signer
	}
	bar := meanwhile.NewProgress(a.stderr, "reading machines", 0)
	n := 0
	brought := photoNames{}
	store := photo.In(d.house.Dir)
	in.Photo = brought.check
	if !how.Preview {
		in.Photo = brought.take(store)
	}
	arrived, err := d.TakeOver(ctx, by, how, func() (*exchange.UnitHistory, error) {
		n++
		bar.At(int64(n))
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c, err := in.Next()
		if c != nil {
			brought.see(c)
		}
		if c == nil && err == nil && signer != nil && in.Signer != *signer {
			return nil, registry.Errorf(registry.Conflict,
				"the file was changed while it was read: nothing was taken over")
		}
		return c, err
	})
	bar.Done()
	if err = errors.Join(err, d.dropUnknown(ctx, brought, store)); err != nil {
		return err
	}
	count := map[string]int{}
	for _, m := range arrived {
		count[m.Does]++
	}
	result := struct {
		House   string             `json:"house"`
		Chain   *chain.Head        `json:"chain,omitempty"`
		New     int                `json:"new"`
		More    int                `json:"more"`
		Same    int                `json:"same"`
		Clashes int                `json:"clashes"`
		Units   []exchange.Arrival `json:"units"`
	}{in.Head.House, in.Head.Chain, count[exchange.ArrivalNew], count[exchange.ArrivalContinued],
		count[exchange.ArrivalUnchanged],
		count[exchange.ArrivalClash], arrived}
	err = a.print(result, func(w io.Writer) {
		columns(w, func(w io.Writer) {
			for _, m := range arrived {
				if m.Does != exchange.ArrivalUnchanged {
					name := strings.TrimSpace(m.Maker + " " + m.Serial)
					if m.Unit == "base" {
						name = strings.TrimSpace("treadle base " + m.Maker)
					}
					fmt.Fprintf(w, "%s\t%s\t%s %s\n", m.Tag, name, m.Does, withCommands(m.Why, m.Next))
				}
			}
		})
		fmt.Fprintf(w, "From %s: %d new, %d with more history, %d the same, %d in a clash", in.Head.House,
			result.New, result.More, result.Same, result.Clashes)
		if how.Preview {
			fmt.Fprint(w, "; a preview, nothing is written")
		}
		fmt.Fprintln(w)
		if c := in.Head.Chain; c != nil {
			fmt.Fprintf(w, "Their history stood at link %d, %s, when they wrote it.\n", c.Links, c.Short())
		}
	})
	if err == nil && result.Clashes > 0 {
		err = registry.Errorf(registry.Conflict,
			"%s not taken over: settle which house goes on with each, as pitman help two-houses tells",
			plural(result.Clashes, "unit"))
	}
	return err
}
