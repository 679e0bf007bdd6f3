package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

func (a *app) mainsCommand() *cobra.Command {
	var set []string
	cmd := &cobra.Command{
		Use:   "mains TAG",
		Short: "Show which parts of a machine take the mains, or say what you saw of one",
		Long: `Lists the parts that take the mains: motor, cord, plug, foot-control, lamp, switch,
capacitor and adapter, each fitted, off (taken off), failed, unknown (nobody looked yet) or never
(it never had one). --set says what you saw; that cancels an earlier safety pass.

` + registry.CautionMains.Text(),
		Example: `  pitman mains PM27T
  pitman mains PM27T --by QX --set motor=off --set lamp=never`,
	}
	show := func(d *workplace, m *stock.Machine) error {
		v := struct {
			machineView
			Mains mains.Parts `json:"mains_parts"`
		}{d.view(m), m.MainsParts()}
		return a.print(v, func(w io.Writer) {
			columns(w, func(w io.Writer) {
				for _, p := range m.MainsParts() {
					fmt.Fprintf(w, "%s\t%s\n", p.Part, p.State)
				}
			})
			for _, warning := range append(d.Warnings(m), d.suspect(m.Tag)...) {
				fmt.Fprintf(w, "! %s\n", warning)
			}
		})
	}
	look := a.lookAtTag(&cobra.Command{}, func(d *workplace, tag registry.Tag) error {
		m, err := d.Machine(cmd.Context(), tag)
		if err != nil {
			return err
		}
		return show(d, m)
	}).RunE
	act := a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		said, err := saidOfParts(set)
		if err != nil {
			return err
		}
		m, err := d.SayMains(cmd.Context(), by, tag, said)
		if err != nil {
			return err
		}
		return show(d, m)
	}).RunE
	cmd.RunE = func(c *cobra.Command, args []string) error {
		if len(set) == 0 {
			return look(c, args)
		}
		return act(c, args)
	}
	cmd.Flags().StringArrayVar(&set, "set", nil,
		"what you saw, as `PART=STATE`: fitted, off, unknown or never (repeatable)")
	return cmd
}

// saidOfParts reads PART=STATE flags.
func saidOfParts(set []string) (said []stock.PartSaid, err error) {
	for _, s := range set {
		part, state, _ := strings.Cut(s, "=")
		one := stock.PartSaid{}
		if one.Part, err = mains.ParsePart(part); err != nil {
			return nil, err
		}
		if one.State, err = mains.ParseState(state); err != nil {
			return nil, err
		}
		said = append(said, one)
	}
	return said, nil
}
