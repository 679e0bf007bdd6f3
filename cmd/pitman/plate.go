package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/photo"
)

func (a *app) plateCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "plate",
		Short: "Serials to read again, off the pictures of plates",
		Long: `A serial is read at the door in poor light, and a slip between 3 and 8 gives a
machine another year. Whoever was not there reads it a second time, off the picture of the plate,
without being shown what was typed: two who agree have each read it.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.plateListCommand(), a.plateReadCommand())
	return cmd
}

func (a *app) plateListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List the machines whose serial waits to be read again",
		Long: `Lists the machines in the house that have a picture of their plate, and whose serial
nobody has read off it as it stands now; those that wait longest come first. What was typed is not
shown.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				waits, err := d.PlatesToRead(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(waits, func(w io.Writer) {
					if len(waits) == 0 {
						fmt.Fprintln(w, "No serial waits to be read again.")
						return
					}
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w, "tag\tmaker\tsince\tpicture of its plate")
						for _, p := range waits {
							fmt.Fprintf(w, "%s\t%s\t%s\t%s/%s\n", p.Tag, p.Maker, d.localDate(p.Since),
								photo.Folder,
								photo.FileName(p.Photos[0]))
						}
					})
				})
			})
		},
	}
}

func (a *app) plateReadCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "read TAG SERIAL",
		Short: "Record the serial that you read off a machine's plate",
		Long: `Records that you read this serial off the picture of the plate. Where the registry has
another, it says so and writes nothing: look once more, then either type what the registry has, or
correct the machine with amend, and let somebody else read it.`,
		Example: `  pitman plate read PM17X K20417 --by QX`,
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				m, err := d.ReadPlate(cmd.Context(), by, tag, args[1])
				if err != nil {
					return err
				}
				return a.print(d.view(m), func(w io.Writer) {
					fmt.Fprintf(w, "%s: you read %s, as the registry has it.\n", tag, m.Serial)
				})
			})
		},
	}
}
