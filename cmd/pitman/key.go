package main

import (
	"crypto/ed25519"
	"encoding/hex"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/house"
)

func (a *app) houseCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "house",
		Short: "Show this house's key, and trust the keys of other houses",
		Long: `Each house signs the bundles that it hands over. Tell the other house your key once,
by telephone or on paper, and let them trust it. See also: pitman help two-houses`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(&cobra.Command{
		Use:     "key",
		Short:   "Show the key by which other houses know what this one signed",
		Example: `  pitman house key`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				key, err := d.db.Key(cmd.Context())
				if err != nil {
					return err
				}
				public := publicKey(key)
				return a.print(struct {
					Key string `json:"key"`
				}{public}, func(w io.Writer) { fmt.Fprintln(w, public) })
			})
		},
	}, &cobra.Command{
		Use:   "trust KEY NAME",
		Short: "Take over what the house with this key signed",
		Long: `Keeps the key of another house under its name. Compare it with what they read to
you; a key that came with the bundle proves nothing.`,
		Example: "  pitman house trust 3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29 " +
			"'Nether Quoin'",
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			key, err := registry.KeyOf(args[0])
			if err != nil {
				return err
			}
			name, err := registry.CleanText("name", args[1], registry.MaxName)
			if err != nil {
				return err
			}
			if name == "" {
				return registry.Errorf(registry.Invalid,
					"name is missing: give the name of the house whose key it is")
			}
			return a.with(func(d *workplace) error {
				if d.Halted != nil {
					return d.Halted
				}
				if err := house.Trust(cmd.Context(), d.db, hex.EncodeToString(key), name); err != nil {
					return err
				}
				return a.print(struct {
					Key   string `json:"key"`
					House string `json:"house"`
				}{hex.EncodeToString(key), name},
					func(w io.Writer) { fmt.Fprintf(w, "%s is trusted: its bundles come in.\n", name) })
			})
		},
	})
	return cmd
}

func publicKey(key ed25519.PrivateKey) string {
	return hex.EncodeToString(key.Public().(ed25519.PublicKey))
}

// unknownHouse says why a bundle with this signature may not come in; nil when it may.
func unknownHouse(cmd *cobra.Command, d *workplace, signer, once string) error {
	if once != "" {
		by, err := registry.ParseInitials(once)
		if err != nil {
			return err
		}
		return d.Config.House.Decides(by, "whether a bundle of an unknown house comes in")
	}
	if signer == "" {
		return registry.Errorf(registry.Conflict,
			"nobody signed the bundle, so nothing was taken over: let a coordinator look at what it would "+
				"do, and say yes with --trust-once INITIALS")
	}
	own, err := d.db.Key(cmd.Context())
	if err != nil || publicKey(own) == signer {
		return err
	}
	name, err := house.Trusted(cmd.Context(), d.db, signer)
	if err != nil || name != "" {
		return err
	}
	return registry.Errorf(registry.Conflict,
		"this house does not know the key %s, which signed the bundle, so nothing was taken over: compare "+
			"it with what the other house reads to you, then pitman house trust KEY NAME; or let a "+
			"coordinator say yes with --trust-once INITIALS", signer)
}
