package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
)

func (a *app) safetyCommand() *cobra.Command {
	var form electrical.SafetyForm
	var faults []string
	var alone bool
	cmd := &cobra.Command{
		Use:   "safety TAG",
		Short: "Record a competent person's electrical safety test, with the limits beside it",
		Long: `Records an electrical safety test of an electric machine. ` + registry.SafetyCaution + `
Only people listed in house.toml under [safety] competent can record one. A pass is signed with a PIN
(pitman people pin): typed at a terminal, else in the file that PITMAN_PIN_FILE names.

Visual comes first; a fail holds the machine. Class none or unknown holds it until it is rewired
and made class I or II. Class III is looked at, with its adapter (--adapter).
Insulation is measured with the switch on and the pedal pressed (--switch-on), or it passes falsely.
A reading that does not apply is n/a where the class, the plug or the cord makes it so.
Where house.toml says visual_revives, --look-alone records a look, which gives back the pass that
bench work ended which touched no mains part.`,
		Example: `  pitman safety PM27T --by RS --class I --visual pass --earth 0.12 --cord-length 2 \
    --cord-area 0.75 --insulation 20 --switch-on \
    --leakage 0.4 --polarity pass --plug G --fuse 3 --volts "220-240" --hertz "50/60" --watts 85
  pitman safety PM27T --by RS --class II --visual fail --visual-fault cord="cut near the plug"
  pitman safety PM27T --by RS --look-alone --visual pass
  pitman safety list --instrument MT1`,
	}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		var err error
		if form.VisualFaults, err = pairs("visual-fault", faults); err != nil {
			return err
		}
		ctx := cmd.Context()
		if form.Class == "" && a.onTerminal() && !(alone && form.Visual != "") {
			if ctx, err = asOf(ctx, d, tag); err != nil {
				return err
			}
			if alone, err = a.askSafety(ctx, d, by, tag, &form, alone); err != nil {
				return err
			}
		} else if form.Electronics && form.Insulation != "" {
			fmt.Fprintln(a.err, registry.ElectronicsWarning)
		}
		record := d.Safety
		if alone {
			record = d.LookAlone
		}
		m, test, err := record(ctx, by, tag, form)
		if err != nil {
			return err
		}
		v := struct {
			machineView
			Limits  []electrical.Limit `json:"limits"`
			Pass    bool               `json:"pass"`
			Hold    string             `json:"hold,omitempty"`
			Notes   []string           `json:"notes"`
			Caution string             `json:"caution"`
		}{d.view(m), append([]electrical.Limit{}, test.Limits...), test.Pass, test.Hold,
			append([]string{}, test.Notes...), registry.SafetyCaution}
		return a.printActed(d, m, v, func(w io.Writer) { d.printSafety(w, test) })
	})
	flags := cmd.Flags()
	flags.StringVar(&form.Class, "class", "",
		"`CLASS` I, II, III (at most 50 V a.c., from an adapter), none (bare metal on two-core cord) or "+
			"unknown")
	flags.StringVar(&form.Visual, "visual", "",
		"`RESULT` of the look, pass or fail: cord, plug, strain relief, rubber, motor leads, foot control")
	flags.StringArrayVar(&faults, "visual-fault", nil,
		"visual point that fails, as `POINT=FAULT` (repeatable)")
	flags.StringVar(&form.Earth, "earth", "", "earth continuity in ohms (`OHM`), class I only")
	flags.StringVar(&form.CordLength, "cord-length", "", "length of the cord in metres (`M`)")
	flags.StringVar(&form.CordArea, "cord-area", "",
		"area of its conductors in mm² (`MM2`), as printed on it, or its gauge such as \"AWG 18\"")
	flags.BoolVar(&form.LongCord, "long-cord", false, "the cord is above 5 m, and was measured again")
	flags.StringVar(&form.Insulation, "insulation", "",
		"insulation resistance in megohms (`MOHM`) at 500 V d.c., unless --insulation-volts says 250")
	flags.StringVar(&form.InsulationVolts, "insulation-volts", "",
		"`VOLTS` that insulation was measured with: 500, or 250 for surge protection or electronics")
	flags.BoolVar(&form.Surge, "surge", false, "it has surge protection")
	flags.BoolVar(&form.SwitchOn, "switch-on", false,
		"insulation was measured with switch on and pedal pressed")
	flags.StringVar(&form.Leakage, "leakage", "", "leakage current in milliamperes (`MA`)")
	flags.BoolVar(&form.Handheld, "handheld", false, "it is held in the hand in use")
	flags.StringVar(&form.Use, "use", "",
		"`USE` of a class I machine: portable (unless said), or stationary (18 kg or more, or mounted)")
	flags.StringVar(&form.Polarity, "polarity", "",
		"`RESULT`: pass, fail, or n/a for a plug that fits either way round")
	flags.StringVar(&form.Plug, "plug", "", "plug type by its `LETTER` in IEC World Plugs")
	flags.StringVar(&form.Adapter, "adapter", "",
		"`RESULT` of the look at the adapter of class III: pass or fail")
	flags.StringVar(&form.Fuse, "fuse", "",
		"fuse in the plug in amperes (`A`), or n/a for a plug without one")
	flags.StringVar(&form.Volts, "volts", "",
		"nameplate `VOLTS` as they read, such as \"220-240\", or unknown")
	flags.StringVar(&form.Hertz, "hertz", "", "nameplate `HERTZ` as they read, such as \"50/60\", or unknown")
	flags.StringVar(&form.Watts, "watts", "", "nameplate `WATTS`, or unknown")
	flags.StringVar(&form.Motor, "motor", "", "`KIND` of motor: brush, induction or unknown")
	flags.BoolVar(&form.Electronics, "electronics", false, "it has circuit boards")
	flags.BoolVar(&alone, "look-alone", false,
		"the look alone, after bench work that touched no mains part (visual_revives in house.toml)")
	flags.StringVar(&form.Instrument, "instrument", "", "`ID` of the test instrument, as in house.toml")
	cmd.AddCommand(a.safetyListCommand())
	return cmd
}

// printSafety shows each reading, limit, margin and source.
func (d *workplace) printSafety(w io.Writer, t *bench.SafetyTest) {
	columns(w, func(w io.Writer) {
		for _, l := range t.Limits {
			verdict := "pass"
			if !l.Pass {
				verdict = "FAIL"
			}
			fmt.Fprintf(w, "%s\t%s\t%s %v %s\tmargin %s\t%s\n", l.What, l.Said(), l.Bound,
				l.Limit, l.Unit, l.MarginSaid(), verdict)
		}
	})
	for _, l := range t.Limits {
		fmt.Fprintf(w, "  %s: %s\n", l.What, l.Source)
	}
	for _, note := range t.Notes {
		fmt.Fprintf(w, "! %s\n", note)
	}
	switch {
	case !t.Revives.IsZero():
		fmt.Fprintf(w, "Recorded: looked at by %s; the pass of %s stands again, as old as it is.\n", t.By,
			d.localDate(t.Revives))
	case t.Pass:
		fmt.Fprintf(w, "Recorded: every point passed, by %s.\n", t.By)
	default:
		fmt.Fprintf(w, "Recorded: held. %s\n", t.Hold)
	}
	fmt.Fprintln(w, registry.SafetyCaution)
}

func (a *app) safetyListCommand() *cobra.Command {
	var instrument string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List safety tests, or all made with one instrument",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				tests, err := d.SafetyTests(cmd.Context(), instrument)
				if err != nil {
					return err
				}
				return a.print(tests, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						for _, t := range tests {
							result := "all points passed"
							switch {
							case !t.Pass:
								result = "held: " + t.Hold
							case !t.Revives.IsZero():
								result = "looked at; the pass of " + d.localDate(t.Revives) + " stands again"
							}
							if t.Withdrawn != "" {
								result = "withdrawn: " + t.Withdrawn
							}
							fmt.Fprintf(w, "%s\t%s\t%s\tclass %s\t%s\t%s\n", d.localDate(t.At), t.Tag, t.By,
								t.Class, orDash(t.Instrument), result)
						}
					})
					fmt.Fprintln(w, plural(len(tests), "safety test"))
				})
			})
		},
	}
	cmd.Flags().StringVar(&instrument, "instrument", "", "only tests made with this instrument (`ID`)")
	return cmd
}
