package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/spares"
)

func (a *app) convertCommand() *cobra.Command {
	var to string
	var parts, bought []string
	var confirmed string
	var c spares.Conversion
	cmd := &cobra.Command{
		Use:   "convert TAG",
		Short: "Change what drives a machine: parts, drive, and its tests from the start",
		Long: `Changes a machine's drive. What was tested for the old drive counts no longer, and a
machine that becomes electric is not plugged in until a competent person has recorded a safety pass.
What is electric becomes hand or treadle only when each part that takes the mains is accounted for
(pitman mains TAG lists them) and a competent person confirms that none is left. The lasting label
then shows the old drive: print a new one.`,
		Example: `  pitman convert PM16 --by QX --to electric --part motor=S12 --bought foot-control \
    --remove hand-crank
  pitman convert PM27T --by QX --to hand --remove motor --remove foot-control --remove cord --never lamp \
    --never switch \
    --never capacitor --never adapter --confirmed-by EL`,
	}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		if to == "" {
			return registry.Errorf(registry.Invalid, "to is missing: give --to electric, hand or treadle")
		}
		var err error
		if c.To, err = registry.ParseDrive(to); err != nil {
			return err
		}
		for _, p := range parts {
			part, from, _ := strings.Cut(p, "=")
			c.Fit = append(c.Fit, spares.PartUse{Part: part, From: from})
		}
		for _, p := range bought {
			c.Fit = append(c.Fit, spares.PartUse{Part: p, Bought: true})
		}
		if confirmed != "" {
			if c.Confirmed, err = registry.ParseInitials(confirmed); err != nil {
				return err
			}
		}
		m, err := d.Convert(cmd.Context(), by, tag, c)
		if err != nil {
			return err
		}
		return a.printActed(d, m, d.view(m), func(w io.Writer) {
			if m.TakesMains() {
				fmt.Fprintln(w, registry.CautionMains.Text())
			}
			fmt.Fprintf(w, "Its label shows the old drive now: print a new one.\n")
		})
	})
	flags := cmd.Flags()
	flags.StringVar(&to, "to", "", "`DRIVE` that it gets: electric, hand or treadle")
	completeWords(cmd, "to", words(registry.Drives)...)
	flags.StringArrayVar(&parts, "part", nil, "part fitted from the shelf, `PART` or PART=CODE (repeatable)")
	flags.StringArrayVar(&bought, "bought", nil, "`PART` that was bought for it (repeatable)")
	flags.StringArrayVar(&c.Remove, "remove", nil, "`PART` that came off and goes to the shelf (repeatable)")
	flags.StringArrayVar(&c.Off, "off", nil, "mains `PART` that came off and goes to no shelf (repeatable)")
	flags.StringArrayVar(&c.Never, "never", nil, "mains `PART` that it never had (repeatable)")
	flags.StringVar(&confirmed, "confirmed-by", "",
		"`INITIALS` of the competent person who sees that nothing on it takes the mains (--by unless said)")
	flags.StringVar(&c.Why, "why", "", "`REASON`, for the history")
	flags.StringVar(&c.Note, "note", "", "any other `TEXT`")
	flags.IntVar(&c.Minutes, "minutes", 0, "`MINUTES` spent")
	return cmd
}
