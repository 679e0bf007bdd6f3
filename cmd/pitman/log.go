package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/intake"
	"pitman/registry/stock"
)

// fieldFlags gives a command a flag for each thing people type about a kind of record.
type fieldFlags[T any] struct {
	fields []fields.Of[T]
	values map[string]*fieldValue // by the field's name
	flags  *pflag.FlagSet
}

// fieldValue collects what was typed for one field, and says in the usage line what it takes.
type fieldValue struct {
	typed []string
	takes string
}

func (v *fieldValue) Set(s string) error { v.typed = append(v.typed, s); return nil }
func (v *fieldValue) String() string     { return strings.Join(v.typed, ", ") }
func (v *fieldValue) Type() string       { return v.takes }

// addFieldFlags adds a flag for each of the named fields, or for all when none is named.
func addFieldFlags[T any](flags *pflag.FlagSet, fields []fields.Of[T], names ...string) *fieldFlags[T] {
	f := &fieldFlags[T]{fields: fields, values: map[string]*fieldValue{}, flags: flags}
	for _, field := range fields {
		if len(names) > 0 && !slices.Contains(names, field.Name) {
			continue
		}
		value := &fieldValue{takes: field.Value}
		f.values[field.Name] = value
		flags.Var(value, field.Name, field.Usage)
	}
	return f
}

// given says whether any of the flags was used.
func (f *fieldFlags[T]) given() bool {
	for name := range f.values {
		if f.flags.Changed(name) {
			return true
		}
	}
	return false
}

// apply sets what was given on the command line.
func (f *fieldFlags[T]) apply(rec *T) error {
	for _, field := range f.fields {
		if f.flags.Changed(field.Name) {
			if err := field.Set(rec, f.values[field.Name].typed); err != nil {
				return err
			}
		}
	}
	return nil
}

func (a *app) logCommand() *cobra.Command {
	var fields *fieldFlags[stock.Machine]
	var again bool
	var tag string
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Log a machine that came in; asks for what is not given",
		Long: `Takes a machine in, dates it by its serial number and gives it a tag for good.

On a terminal, pitman log asks one question a line and shows the year as soon as the serial is in; then
it goes on with the next machine of the load, whose donor and place stay, until you say n.
In a script, give at least --maker, --serial and --drive.`,
		Example: `  pitman log --by QX
  pitman log --by QX --maker "Harrow & Finch" --serial K20417 --drive treadle --place "shelf 3"`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var m stock.Machine
			if err := fields.apply(&m); err != nil {
				return err
			}
			if cmd.Flags().Changed("tag") {
				var err error
				if m.Tag, err = registry.ParseTag(tag); err != nil {
					return err
				}
			}
			return a.withActor(func(d *workplace, by registry.Initials) (err error) {
				if err := settleTyped(cmd.Context(), a, d, stock.MachineFields, &m); err != nil {
					return err
				}
				asked := m.Validate() != nil && a.onTerminal()
				if asked {
					if err := a.askMachine(cmd.Context(), d, &m, &again); err != nil {
						return err
					}
				}
				if err := d.Log(cmd.Context(), by, &m, again); err != nil {
					return err
				}
				if a.json {
					return a.printMachine(d, &m)
				}
				a.printLogged(d, &m, tag != "")
				if asked {
					return a.logMore(cmd.Context(), d, by, &m)
				}
				return nil
			})
		},
	}
	fields = addFieldFlags(cmd.Flags(), stock.MachineFields)
	cmd.Flags().BoolVar(&again, "again", false,
		"log it although this maker and serial are in the house already")
	cmd.Flags().StringVar(&tag, "tag", "",
		"scan the blank `TAG` that hangs on it (else the next one is given)")
	return cmd
}

func (a *app) printLogged(d *workplace, m *stock.Machine, hangs bool) {
	fmt.Fprintf(a.out, "%s  %s, %s, %s\n", m.Tag, machineName(m), m.Year(), m.Drive)
	for _, warning := range d.Warnings(m) {
		fmt.Fprintf(a.out, "  %s\n", warning)
	}
	if hangs {
		fmt.Fprintf(a.out,
			"%s hangs on it already; the label with its name comes with pitman label --queue.\n", m.Tag)
		return
	}
	fmt.Fprintf(a.out, "Tie a label with %s on it now.\n", m.Tag)
}

// logMore logs the rest of a van-load: donor and place stay, and the labels come at the end.
func (a *app) logMore(ctx context.Context, d *workplace, by registry.Initials, last *stock.Machine) error {
	tags := []string{string(last.Tag)}
	for q := a.asker(); ; {
		fmt.Fprint(q.out,
			"Enter for the next one of this load (its donor and place stay), n when there is none: ")
		answer, ok, err := q.next()
		if err != nil {
			return err
		}
		if !ok || answer != "" {
			fmt.Fprintln(q.out)
			fmt.Fprintf(q.out, "Logged: %s. Labels for them: pitman label %s -o labels.pdf\n",
				plural(len(tags), "machine"), strings.Join(tags, " "))
			return nil
		}
		m, again := stock.Machine{Donor: last.Donor, Place: last.Place}, false
		if err := a.askMachine(ctx, d, &m, &again); err != nil {
			return err
		}
		if err := d.Log(ctx, by, &m, again); err != nil {
			return err
		}
		a.printLogged(d, &m, false)
		last, tags = &m, append(tags, string(m.Tag))
	}
}

func (a *app) onTerminal() bool {
	f, ok := a.in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

func (a *app) amendCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "amend TAG",
		Short: "Correct what is known of a machine; the history keeps the old values",
		Example: `  pitman amend PM17X --by QX --serial K20471 --why "read with a lamp"
  pitman amend PM17X --by QX --place ""`,
	}
	return amends(a, cmd, stock.MachineFields, "--serial K20471",
		func(d *workplace, by registry.Initials, tag registry.Tag, why string,
			correct func(*stock.Machine) error) error {
			was, err := d.Machine(cmd.Context(), tag)
			if err != nil {
				return err
			}
			correct, err = settleCorrected(cmd.Context(), a, d, stock.MachineFields, was, correct)
			if err != nil {
				return err
			}
			m, err := d.Amend(cmd.Context(), by, tag, why, correct)
			if err != nil {
				return err
			}
			return a.printMachine(d, m)
		})
}

// amends is a command that corrects the fields of one machine or base.
func amends[T any](a *app, cmd *cobra.Command, known []fields.Of[T], such string,
	amend func(d *workplace, by registry.Initials, tag registry.Tag, why string,
		correct func(*T) error) error) *cobra.Command {
	fields := addFieldFlags(cmd.Flags(), known)
	var why string
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		if !fields.given() {
			return registry.Errorf(registry.Invalid,
				"nothing to amend for %s: give the field and its new value, such as %s", tag, such)
		}
		return amend(d, by, tag, why, fields.apply)
	})
}

func (a *app) redateCommand() *cobra.Command {
	var apply bool
	cmd := &cobra.Command{
		Use:   "redate",
		Short: "List machines that today's tables would date otherwise",
		Long: `Lists the machines whose year would change by today's tables, and with --apply changes them.

A machine whose table is not here, such as one that came from another house, keeps its year. Those
are listed apart.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			list := func(stale []intake.Redating) error {
				return a.print(stale, func(w io.Writer) { printRedatings(w, stale, apply) })
			}
			if apply {
				return a.withActor(func(d *workplace, by registry.Initials) error {
					bar := a.progress("dating machines", 0)
					d.Tick = bar.at
					stale, err := d.Redate(cmd.Context(), by)
					bar.done()
					if err != nil {
						return err
					}
					return list(stale)
				})
			}
			return a.with(func(d *workplace) error {
				bar := a.progress("dating machines", 0)
				d.Tick = bar.at
				stale, err := d.Stale(cmd.Context())
				bar.done()
				if err != nil {
					return err
				}
				return list(stale)
			})
		},
	}
	cmd.Flags().BoolVar(&apply, "apply", false, "give them the new estimate")
	return cmd
}

// printRedatings lists what changes, and apart from it what stays although no table here has its row.
func printRedatings(w io.Writer, stale []intake.Redating, applied bool) {
	var changed, kept []intake.Redating
	for _, s := range stale {
		if s.Kept {
			kept = append(kept, s)
		} else {
			changed = append(changed, s)
		}
	}
	switch {
	case len(stale) == 0:
		fmt.Fprintln(w, "Every machine is dated as the tables say today.")
		return
	case len(changed) > 0:
		columns(w, func(w io.Writer) {
			for _, s := range changed {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Tag, s.Maker, s.Serial, change(s))
			}
		})
		if applied {
			fmt.Fprintf(w, "%s redated.\n", plural(len(changed), "machine"))
		} else {
			fmt.Fprintf(w, "%s would change: pitman redate --apply changes them.\n",
				plural(len(changed), "machine"))
		}
	default:
		fmt.Fprintln(w, "No year changes.")
	}
	if len(kept) > 0 {
		fmt.Fprintf(w, "No table here has the row that dated %s; the year stays:\n",
			plural(len(kept), "machine"))
		columns(w, func(w io.Writer) {
			for _, s := range kept {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Tag, s.Maker, s.Serial, s.Was)
			}
		})
	}
}

// change is the years before and after, with what lies behind them where they look alike.
func change(s intake.Redating) string {
	behind := func(e stock.Estimate) string {
		switch {
		case s.Was != s.Now:
			return ""
		case e.Best == nil:
			return " (" + e.Basis + ")"
		default:
			return fmt.Sprintf(" (%s, best %d)", e.Basis, *e.Best)
		}
	}
	return s.Was + behind(s.Before) + " → " + s.Now + behind(s.After)
}

// closest finds what a person may mean by a few letters: names that begin so, in any case.
func closest(names []string, typed string) []string {
	var found []string
	for _, name := range names {
		if strings.EqualFold(name, typed) {
			return []string{name}
		}
		if len(name) >= len(typed) && strings.EqualFold(name[:len(typed)], typed) {
			found = append(found, name)
		}
	}
	return found
}
