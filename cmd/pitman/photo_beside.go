package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/examples"
	"pitman/registry/photo"
)

func (a *app) photoBesideCommand() *cobra.Command {
	var remove bool
	cmd := &cobra.Command{
		Use:   "beside [KIND NAME [FILE]]",
		Short: "Pictures of your own beside test points, jobs and bed patterns",
		Long: `Puts a picture of your own beside a point of the function test, a job of the bench or a
bed pattern, as your lists name them: what right looks like, how it is done, where it is measured.
Pages show it where the point, the job or the pattern is asked for. KIND is point, job or bed.
Another picture in the same place takes its place; without KIND, all are listed.`,
		Example: `  pitman photo beside point tension even-seam.jpg
  pitman photo beside bed long-arm where-to-measure.jpg
  pitman photo beside point tension --remove
  pitman photo beside`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 && !remove || len(args) == 2 && remove || len(args) == 3 && !remove {
				return nil
			}
			return errors.New("give KIND, NAME and FILE, or KIND, NAME and --remove, or nothing to list all")
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.with(func(d *workplace) error {
				beside := examples.In(d.house.Dir, &d.Lists.Bench, &d.Lists.Stock)
				if len(args) == 0 {
					return a.listBeside(beside)
				}
				x, err := beside.Parse(args[0], args[1])
				if err != nil {
					return err
				}
				if remove {
					if err := beside.Remove(x); err != nil {
						return err
					}
					return a.print(x, func(w io.Writer) {
						fmt.Fprintf(w, "No picture stands beside the %s %s any more.\n", x.Of, x.Name)
					})
				}
				f, err := openFile(args[2])
				if err != nil {
					return err
				}
				defer f.Close()
				taken, err := photo.Take(cmd.Context(), f)
				if err != nil {
					return notKept(err, args[2])
				}
				if err := beside.Put(x, taken); err != nil {
					return err
				}
				return a.print(x, func(w io.Writer) {
					fmt.Fprintf(w, "%s stands beside the %s %s, %d × %d dots.\n", args[2], x.Of, x.Name,
						taken.Width,
						taken.Height)
				})
			})
		},
	}
	cmd.Flags().BoolVar(&remove, "remove", false, "take the picture away")
	return cmd
}

func (a *app) listBeside(beside examples.Examples) error {
	all, err := beside.List()
	if err != nil {
		return err
	}
	return a.print(all, func(w io.Writer) {
		if len(all) == 0 {
			fmt.Fprintln(w, "No picture stands beside a test point, a job or a bed pattern.")
			return
		}
		columns(w, func(w io.Writer) {
			fmt.Fprintln(w, "kind\tname\tfile")
			for _, x := range all {
				fmt.Fprintf(w, "%s\t%s\t%s/%s\n", x.Of, x.Name, examples.Folder, x.File)
			}
		})
	})
}

// notKept says of a file that is no picture that nothing of it was kept.
func notKept(err error, file string) error {
	if code := registry.CodeOf(err); code != "" {
		err = registry.Errorf(code, "%s: %v; nothing of it was kept", file, err)
	}
	return err
}
