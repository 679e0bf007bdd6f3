package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
)

func (a *app) safetyCommand() *cobra.Command {
	var form electrical.SafetyForm
	var faults []string
	cmd := &cobra.Command{
		Use:   "safety TAG",
		Short: "Record a competent person's electrical safety test, with the limits beside it",
		Long: `Records an electrical safety test of an electric machine. ` + registry.SafetyCaution + `
Only people listed in house.toml under [safety] competent can record one. A pass is signed with a PIN
(pitman people pin): typed at a terminal, else in the file that PITMAN_PIN_FILE names.

Visual comes first; a fail holds the machine. Class none or unknown holds it until it is rewired
and made class I or II. Class III is looked at, with its adapter (--adapter).
Insulation is measured with the switch on and the pedal pressed (--switch-on), or it passes falsely.
A reading that does not apply is n/a where the class, the plug or the cord makes it so.`,
		Example: `  pitman safety PM27T --by RS --class I --visual pass --earth 0.12 --cord-length 2 \
    --cord-area 0.75 --insulation 20 --switch-on \
    --leakage 0.4 --polarity pass --plug G --fuse 3 --volts "220-240" --hertz "50/60" --watts 85
  pitman safety PM27T --by RS --class II --visual fail --visual-fault cord="cut near the plug"
  pitman safety list --instrument MT1`,
	}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		var err error
		if form.VisualFaults, err = pairs("visual-fault", faults); err != nil {
			return err
		}
		if form.Class == "" && a.onTerminal() {
			if err := a.askSafety(cmd.Context(), d, by, tag, &form); err != nil {
				return err
			}
		} else if form.Electronics && form.Insulation != "" {
			fmt.Fprintln(a.err, registry.ElectronicsWarning)
		}
		m, test, err := d.Safety(cmd.Context(), by, tag, form)
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
		return a.printActed(d, m, v, func(w io.Writer) { printSafety(w, test) })
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
	flags.StringVar(&form.Instrument, "instrument", "", "`ID` of the test instrument, as in house.toml")
	cmd.AddCommand(a.safetyListCommand())
	return cmd
}

// printSafety shows each reading, limit, margin and source.
func printSafety(w io.Writer, t *bench.SafetyTest) {
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
	if t.Pass {
		fmt.Fprintf(w, "Recorded: every point passed, by %s.\n", t.By)
	} else {
		fmt.Fprintf(w, "Recorded: held. %s\n", t.Hold)
	}
	fmt.Fprintln(w, registry.SafetyCaution)
}

// askSafety asks for the whole form, visual points first; whoever may not record it hears so before the first
// question.
func (a *app) askSafety(ctx context.Context, d *workplace, by registry.Initials, tag registry.Tag,
	form *electrical.SafetyForm) error {
	m, err := d.MayTestSafety(ctx, by, tag)
	if err != nil {
		return err
	}
	q := a.asker()
	fmt.Fprintf(q.out, "%s  %s\n! %s\n! %s\n", m.Tag, machineName(m), registry.SafetyCaution,
		registry.CautionMains.Text())
	for _, p := range electrical.VisualPoints() {
		answer, err := q.line(p.Ask + " (Enter = yes, or the fault)")
		if err != nil {
			return err
		}
		if answer != "" && !strings.EqualFold(answer, "y") && !strings.EqualFold(answer, "yes") {
			form.VisualFaults[p.Key] = answer
		}
	}
	switch {
	case len(form.VisualFaults) > 0:
		form.Visual = "fail"
	case form.Visual == "": // a fail that was given beforehand stays one
		form.Visual = "pass"
	}
	// What cannot be meant is asked again at once: nobody types a whole form twice for one slip.
	rules := d.Config.Safety
	ask := func(question string, needed bool, to *string) {
		if err != nil || *to != "" {
			return
		}
		err = q.until(question, func(answer string) error {
			if answer == "" && needed {
				return registry.Errorf(registry.Invalid, "an answer is needed here")
			}
			*to = answer
			refused := form.Check()
			if refused == nil && to == &form.Instrument {
				refused = rules.CheckInstrument(answer, d.Now().In(d.Config.Location()))
			}
			if refused != nil {
				*to = ""
			}
			return refused
		})
	}
	ask("Class? I, II, III, none or unknown:", true, &form.Class)
	class := strings.ToUpper(form.Class)
	if err == nil && form.Visual == "pass" && (class == "III" || class == "3") {
		ask("Adapter: case and cord whole, two squares on its plate, right output? pass or fail:", true,
			&form.Adapter)
		ask("Plate: volts?", true, &form.Volts)
		ask("Motor? brush, induction or unknown:", false, &form.Motor)
		return err
	}
	if err != nil || form.Visual == "fail" || class != "I" && class != "II" && class != "1" && class != "2" {
		return err
	}
	classI := class == "I" || class == "1"
	if form.Electronics, err = q.yes("Has it electronics (circuit boards)?"); err != nil {
		return err
	}
	if form.Electronics {
		fmt.Fprintf(q.out, "! %s\n", registry.ElectronicsWarning)
		ask("Insulation voltage? 500 or 250 (Enter = 500)", false, &form.InsulationVolts)
	}
	if len(rules.Instruments) > 0 {
		ask("Instrument?", true, &form.Instrument)
	}
	if classI {
		ask("Cord length, m?", true, &form.CordLength)
		for err == nil && electrical.AsksLongCord(form.CordLength) && !form.LongCord {
			if form.LongCord,
				err = q.yes("Above 5 m, which is unusual. Measured again, and right?"); err == nil &&
				!form.LongCord {
				form.CordLength = ""
				ask("Cord length, m?", true, &form.CordLength)
			}
		}
		ask("Cord conductor area, mm²? (printed on the cord)", true, &form.CordArea)
		ask("Earth continuity, ohm?", true, &form.Earth)
	}
	if err != nil {
		return err
	}
	if form.SwitchOn, err = q.yes("Switch on and pedal pressed for the insulation test?"); err != nil {
		return err
	}
	ask("Insulation, MΩ?", true, &form.Insulation)
	ask("Leakage, mA?", true, &form.Leakage)
	if classI && m.Plate.Plug == "" {
		ask("Plug type, letter? Class I passes only with an earthed one.", true, &form.Plug)
	} else {
		ask("Plug type, letter? (Enter if "+cmp.Or(m.Plate.Plug, "unknown")+")", false, &form.Plug)
	}
	ask("Polarity? pass, fail or n/a:", true, &form.Polarity)
	ask("Fuse, A? (n/a without one)", true, &form.Fuse)
	ask("Plate: volts?", false, &form.Volts)
	ask("Plate: hertz?", false, &form.Hertz)
	ask("Plate: watts?", false, &form.Watts)
	ask("Motor? brush, induction or unknown:", false, &form.Motor)
	return err
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
							if !t.Pass {
								result = "held: " + t.Hold
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
