package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

func (a *app) testCommand() *cobra.Command {
	var pass, fail, na, seams []string
	var ruler, dial string
	var stitches int
	var danger bool
	cmd := &cobra.Command{
		Use:   "test TAG",
		Short: "Function test: asks each point, or takes the answers as flags",
		Long: `Records a function test. On a terminal it asks each point of the house's list: Enter
passes it, words are the fault, n/a is for what the machine does without, ? helps and back goes to
the point before; all is shown before it is recorded. A pass makes the machine ready; a fail sends
it back to the bench with a fault slip. An electric machine needs a standing safety pass first.

The stitch length is worked out: sew beside a ruler, count the stitches, and give --ruler,
--stitches and --dial. Other settings, and the seam in reverse, are given with --seam.`,
		Example: `  pitman test PM16 --by RS --pass all --ruler "50 mm" --stitches 20 --dial 2.5 \
    --seam "4 = 50 mm / 12" --seam "reverse 2.5 = 50 mm / 20"
  pitman test PM16 --by RS --pass all --fail tension="loops below" --na reverse="made without one"`,
	}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		form, err := testForm(pass, fail, ruler, stitches, dial)
		if err != nil {
			return err
		}
		if form.Lacks, err = pairs("na", na); err != nil {
			return err
		}
		for _, seam := range seams {
			check, err := measure.ParseSeam(seam)
			if err != nil {
				return err
			}
			form.Seams = append(form.Seams, check)
		}
		ctx := cmd.Context()
		if len(pass) == 0 && len(fail) == 0 && len(na) == 0 && form.Stitch == nil && len(seams) == 0 &&
			a.onTerminal() {
			if ctx, err = asOf(ctx, d, tag); err != nil {
				return err
			}
			if err := a.askPoints(ctx, d, by, tag, &form); err != nil {
				return err
			}
		}
		form.Danger = form.Danger || danger
		m, test, err := d.Test(ctx, by, tag, form)
		if err != nil {
			return err
		}
		v := struct {
			machineView
			Test *bench.FunctionTest `json:"test"`
		}{d.view(m), test}
		return a.printActed(d, m, v, func(w io.Writer) {
			for _, p := range test.Points {
				for _, stitch := range p.Measured() {
					fmt.Fprintln(w, stitch.Said())
				}
				if p.NotMeasured {
					fmt.Fprintf(w, "%s: passed, not measured\n", p.Point)
				}
				if p.NotApplicable != "" {
					fmt.Fprintf(w, "%s: n/a, %s\n", p.Point, p.NotApplicable)
				}
			}
			if !test.Pass {
				fmt.Fprintln(w)
				d.printSlip(w, m, test)
			}
		})
	})
	flags := cmd.Flags()
	flags.StringArrayVar(&pass, "pass", nil,
		"`POINT` that passes, or all for every point not named (repeatable)")
	flags.StringArrayVar(&fail, "fail", nil, "point that fails, as `POINT=FAULT` (repeatable)")
	flags.StringArrayVar(&na, "na", nil,
		"point that does not apply, with the reason, as `POINT=REASON` (repeatable)")
	flags.StringVar(&ruler, "ruler", "", "`LENGTH` of seam beside the ruler, in mm unless a unit is given")
	flags.IntVar(&stitches, "stitches", 0, "`NUMBER` of stitches counted in it")
	flags.StringArrayVar(&seams, "seam", nil,
		"another measured `SEAM`, as \"4 = 50 mm / 12\": dial, length and stitches in it; \"reverse 2.5 = "+
			"...\" for "+
			"one sewn backwards (repeatable)")
	flags.BoolVar(&danger, "danger", false,
		"it fails, and gave heat, smoke, smell, sparks, a shock or tripped a breaker: it is held as unsafe")
	flags.StringVar(&dial, "dial", "",
		"what the stitch dial says: `MM`, or such as \"10 per inch\", or none for a lever without a scale")
	return cmd
}

// testForm reads the flags.
func testForm(pass, fail []string, ruler string, stitches int, dial string) (form bench.TestForm, err error) {
	for _, p := range pass {
		if p = pointName(p); p == "all" {
			form.PassAll = true
		} else {
			form.Pass = append(form.Pass, p)
		}
	}
	if form.Fail, err = pairs("fail", fail); err != nil {
		return form, err
	}
	if ruler == "" && stitches == 0 && dial == "" {
		return form, nil
	}
	form.Stitch, err = stitchCheck(ruler, stitches, dial)
	return form, err
}

// pointName takes a point in capitals, too: the lists have small letters only.
func pointName(typed string) string { return strings.ToLower(strings.TrimSpace(typed)) }

// sayWhy is what a NAME=TEXT flag lacks without its text, and how to type it.
var sayWhy = map[string]string{
	"fail":         `what is wrong: type it as --fail tension="loops below"`,
	"visual-fault": `what is wrong: type it as --visual-fault cord="cut near the plug"`,
	"na":           `why it does not apply: type it as --na reverse="made without one"`,
}

// pairs reads NAME=TEXT flags.
func pairs(flag string, values []string) (map[string]string, error) {
	out := map[string]string{}
	for _, v := range values {
		name, text, ok := strings.Cut(v, "=")
		name = pointName(name)
		if !ok || name == "" {
			return nil, registry.Errorf(registry.Invalid,
				"%s %q does not say %s", flag, v, sayWhy[flag])
		}
		if _, twice := out[name]; twice {
			return nil, registry.Errorf(registry.Invalid, "%s %q stands twice: give it once", flag, name)
		}
		out[name] = text
	}
	return out, nil
}

func stitchCheck(ruler string, stitches int, dial string) (*measure.StitchCheck, error) {
	if dial == "" {
		return nil, registry.Errorf(registry.Invalid,
			"dial is missing: give --dial with the setting, such as 2.5 or \"10 spi\", or none for a lever "+
				"without a scale")
	}
	if ruler == "" {
		return nil, registry.Errorf(registry.Invalid,
			"ruler is missing: give --ruler with the length of seam you counted, such as \"50 mm\"")
	}
	length, err := measure.ParseLength("ruler", ruler)
	if err != nil {
		return nil, err
	}
	set, err := measure.ParseDial(dial)
	if err != nil {
		return nil, err
	}
	return &measure.StitchCheck{Ruler: length, Stitches: stitches, Dial: set}, nil
}

func (a *app) slipCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "slip TAG",
		Short: "Print the fault slip of a machine that failed its function test"}
	return a.lookAtTag(cmd, func(d *workplace, tag registry.Tag) error {
		m, test, err := d.FaultSlip(cmd.Context(), tag)
		if err != nil {
			return err
		}
		v := struct {
			Tag    registry.Tag        `json:"tag"`
			Tested string              `json:"tested"`
			Faults []bench.PointResult `json:"faults"`
		}{tag, d.localDate(test.At), test.Faults()}
		return a.print(v, func(w io.Writer) { d.printSlip(w, m, test) })
	})
}

// printSlip prints what goes back to the bench. It names the fault and no person.
func (d *workplace) printSlip(w io.Writer, m *stock.Machine, test *bench.FunctionTest) {
	fmt.Fprintf(w, "FAULT SLIP  %s  %s\n", m.Tag, machineName(m))
	for _, warning := range d.Warnings(m) {
		fmt.Fprintf(w, "  %s\n", warning)
	}
	fmt.Fprintf(w, "Function test of %s. %d of %d points are right; still to do:\n", d.localDate(test.At),
		len(test.Points)-len(test.Faults()), len(test.Points))
	for _, p := range test.Faults() {
		fmt.Fprintf(w, "  [ ] %s: %s\n", p.Point, p.Fault)
	}
	fmt.Fprintf(w, "Thank you. When it is mended: pitman bench finish %s\n", m.Tag)
}
