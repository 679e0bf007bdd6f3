package main

import (
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"pitman/cmd/pitman/meanwhile"
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
	return amends(a, cmd, stock.MachineFields, registry.DoAmend, "serial", "K20471",
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
func amends[T any](a *app, cmd *cobra.Command, known []fields.Of[T], action, field, such string,
	amend func(d *workplace, by registry.Initials, tag registry.Tag, why string,
		correct func(*T) error) error) *cobra.Command {
	fields := addFieldFlags(cmd.Flags(), known)
	var why string
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		if !fields.given() {
			return nothingToAmend(string(tag), registry.Next(action, tag), field, such)
		}
		return amend(d, by, tag, why, fields.apply)
	})
}

// nothingToAmend refuses a correction that gives no field; such is an example of a value.
func nothingToAmend(of string, step registry.NextStep, field, such string) error {
	return registry.Errorf(registry.Invalid,
		"nothing to amend for %s: give the field and its new value, such as %s %s", of, field, such).
		Then(step.Asking(field))
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
					bar := meanwhile.NewProgress(a.stderr, "dating machines", 0)
					d.Tick = bar.At
					stale, err := d.Redate(cmd.Context(), by)
					bar.Done()
					if err != nil {
						return err
					}
					return list(stale)
				})
			}
			return a.with(func(d *workplace) error {
				bar := meanwhile.NewProgress(a.stderr, "dating machines", 0)
				d.Tick = bar.At
				stale, err := d.Stale(cmd.Context())
				bar.Done()
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
