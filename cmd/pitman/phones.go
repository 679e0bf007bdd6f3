package main

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/phone"
)

func (a *app) phonesCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "phones",
		Short: "List the phones that are paired, pair one, remove one",
		Long: `Lists the phones that may open the pages of pitman serve, and whose each is. A phone
is lost, or someone left: remove it, and it sees nothing from that moment. Phones and their codes
stand in no backup and no bundle; a pairing ends by itself after 90 days.`,
		Example: `  pitman phones
  pitman phones pair QX`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return a.withPhones(func(s phone.Store, h *house.House) error {
				phones, err := s.List()
				if err != nil {
					return err
				}
				day := func(at time.Time) string { return at.In(h.Config.Location()).Format(time.DateOnly) }
				return a.print(phones, func(w io.Writer) {
					if len(phones) == 0 {
						fmt.Fprintln(w, "No phone is paired.")
						return
					}
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w, "phone\twhose\tpaired\tlast seen\tuntil")
						for _, p := range phones {
							fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", p.ID, p.By, day(p.Paired), day(p.Seen),
								day(p.Expires))
						}
					})
				})
			})
		},
	}
	cmd.AddCommand(a.phonesPairCommand(), a.phonesRemoveCommand())
	return cmd
}

func (a *app) phonesPairCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "pair INITIALS",
		Short:   "Show a code that pairs one phone with one person",
		Example: "  pitman phones pair QX",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			by, err := registry.ParseInitials(args[0])
			if err != nil {
				return err
			}
			return a.withPhones(func(s phone.Store, _ *house.House) error {
				c, err := pairWith(s, by)
				if err != nil {
					return err
				}
				return a.print(c, c.tell)
			})
		},
	}
}

func (a *app) phonesRemoveCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "remove PHONE...",
		Short:   "End the pairing of phones, at once",
		Example: "  pitman phones remove 5c0ffee5ed",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return a.withPhones(func(s phone.Store, _ *house.House) error {
				for _, id := range args {
					if err := s.Remove(id); err != nil {
						return err
					}
				}
				return a.print(struct {
					Removed []string `json:"removed"`
				}{args}, func(w io.Writer) {
					for _, id := range args {
						fmt.Fprintf(w, "%s is no longer paired.\n", id)
					}
				})
			})
		},
	}
}

// withPhones opens the phones of the house, which need no registry.
func (a *app) withPhones(fn func(phone.Store, *house.House) error) error {
	h, err := house.Open(a.dir())
	if err != nil {
		return err
	}
	return fn(phone.In(h.Dir, a.now), h)
}
