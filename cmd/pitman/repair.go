package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
)

func (a *app) repairCommand() *cobra.Command {
	var into, identity, last string
	cmd := &cobra.Command{
		Use:   "repair --into NEW [BACKUP...]",
		Short: "Make a new house of what can be proved from a damaged one and its backups",
		Long: `Takes the backup whose history goes furthest, and behind it all that the chain of the
damaged registry still vouches for, link by link, up to the first one that is not right. It lists what
is lost. The damaged house (--house) is only read: keep it until you have looked at the list.

Backups in the house's own folder are found; name those that lie elsewhere. To mend a sewing machine,
see pitman bench --help.`,
		Example: `  pitman repair --house ./lantern-row --into ./lantern-row-repaired
  pitman repair --into ./repaired /media/usb/lantern-row-2031-05-04.tar.gz`,
		RunE: func(cmd *cobra.Command, args []string) error {
			for _, arg := range args {
				if tag, err := registry.ParseTag(arg); err == nil {
					return registry.Errorf(registry.Invalid,
						"%s is a tag, and repair mends a damaged house: to mend that machine, pitman bench "+
							"start %s",
						tag, tag)
				}
			}
			if into == "" {
				return registry.Errorf(registry.Invalid,
					"into is missing: give --into with a folder that is not there yet, for the repaired house")
			}
			tag, err := a.lastTag(last)
			if err != nil {
				return err
			}
			keys, err := archive.ReadKeys(identity)
			if err != nil {
				return err
			}
			old := &house.House{Dir: a.dir(), Now: a.now}
			r, err := old.Repair(cmd.Context(), into, args, tag, keys)
			if err != nil {
				return err
			}
			err = a.print(r, func(w io.Writer) { printRepaired(w, r, tag) })
			if err == nil && len(r.Faults) > 0 {
				err = registry.Errorf(registry.Conflict,
					"the repaired house has %s: run pitman --house %s verify",
					plural(len(r.Faults), "fault"), into)
			}
			return err
		},
	}
	cmd.Flags().StringVar(&into, "into", "", "the `FOLDER` of the new house, which is not there yet")
	lastFlag(cmd, &last)
	cmd.Flags().StringVar(&identity, "identity", "", "the `FILE` with the key of encrypted backups")
	return cmd
}

func printRepaired(w io.Writer, r *house.Repaired, last registry.Tag) {
	from := "no backup"
	if r.Backup != "" {
		from = fmt.Sprintf("%s, to link %d", r.Backup, r.Began)
	}
	fmt.Fprintf(w, "%s  %s\n", r.House, plural(int(r.Machines), "machine"))
	fmt.Fprintf(w, "Began with %s; the damaged registry proves %s behind it.\n", from,
		plural(int(r.Links-r.Began), "link"))
	for _, lost := range r.Lost {
		fmt.Fprintf(w, "Lost: %s\n", lost)
	}
	for _, u := range r.Unproved {
		fmt.Fprintf(w, "Not proved, so not taken over: action %d, %s by %s on %s, %s\n", u.Action, u.Verb,
			u.By, u.At,
			orDash(u.Subject))
	}
	if len(r.Lost) == 0 && len(r.Unproved) == 0 {
		fmt.Fprintln(w, "Nothing is lost.")
	}
	saysNextNumber(w, r.NextNumber, last)
	fmt.Fprintln(w, "Log again what is lost, and keep the damaged house until that is done.")
}
