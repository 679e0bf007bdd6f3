package main

import (
	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/stock"
)

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
