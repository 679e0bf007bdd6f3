package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/photo"
	"pitman/registry/pictures"
)

func (a *app) photoCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "photo",
		Short: "Pictures of a machine or base: add, list, remove",
		Long: `Pictures of a nameplate, a decal, a fault or the whole machine, as JPEG, PNG or WebP
files. Each is turned upright, made no longer than 2048 dots, and written anew: where it was taken,
on what, and by whose camera is not kept. The house keeps it in its photos folder, and in its
backups.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.photoAddCommand(), a.photoListCommand(), a.photoRemoveCommand(), a.photoBesideCommand())
	return cmd
}

func (a *app) photoAddCommand() *cobra.Command {
	var shows string
	cmd := &cobra.Command{
		Use:     "add TAG FILE...",
		Short:   "Add pictures to a machine or base",
		Example: `  pitman photo add PM17X plate.jpg --shows plate --by QX`,
		Args:    cobra.MinimumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			if shows, err = pictures.ParseShows(shows); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				// before any picture is read for nobody
				if _, err := d.Photos(cmd.Context(), tag); err != nil {
					return err
				}
				added := []pictures.Photo{}
				for _, file := range args[1:] {
					p, err := d.addPhoto(cmd, by, tag, shows, file)
					if err != nil {
						return err
					}
					added = append(added, p)
				}
				return a.print(added, func(w io.Writer) {
					for i, p := range added {
						fmt.Fprintf(w, "%s  %s  %s of %s, %d × %d dots\n", p.Name[:12], args[1+i], p.Shows,
							tag, p.Width, p.Height)
					}
				})
			})
		},
	}
	cmd.Flags().StringVar(&shows, "shows", "",
		"what it `SHOWS`: whole, plate, decal or fault (whole unless said)")
	return cmd
}

func (d *workplace) addPhoto(cmd *cobra.Command, by registry.Initials, tag registry.Tag, shows,
	file string) (p pictures.Photo, err error) {
	f, err := openFile(file)
	if err != nil {
		return p, err
	}
	defer f.Close()
	taken, err := photo.Take(cmd.Context(), f)
	if err != nil {
		return p, notKept(err, file)
	}
	return d.KeepPhoto(cmd.Context(), by, photo.In(d.house.Dir), taken, tag, shows)
}

func (a *app) photoListCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "list TAG", Short: "List the pictures of a machine or base, and their files"}
	return a.lookAtTag(cmd, func(d *workplace, tag registry.Tag) error {
		photos, err := d.Photos(cmd.Context(), tag)
		if err != nil {
			return err
		}
		return a.print(photos, func(w io.Writer) {
			if len(photos) == 0 {
				fmt.Fprintf(w, "%s has no picture.\n", tag)
				return
			}
			columns(w, func(w io.Writer) {
				fmt.Fprintln(w, "photo\tshows\ttaken\tby\tfile")
				for _, p := range photos {
					fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s/%s\n", p.Name[:12], p.Shows, d.localDate(p.At), p.By,
						photo.Folder, photo.FileName(p.Name))
				}
			})
		})
	})
}

func (a *app) photoRemoveCommand() *cobra.Command {
	var forGood bool
	cmd := &cobra.Command{
		Use:   "remove TAG PHOTO",
		Short: "Put a picture aside, or take it out of the house for good",
		Long: `Puts a picture aside: it is shown no more, and undoing that brings it back. With
--for-good its file goes, from every machine that it shows, for what should not be kept: a face, a
child, an address. Backups made before still hold it, until they make room.`,
		Example: `  pitman photo remove PM17X 5c0ffee5ed00 --for-good --by QX`,
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				p, err := d.RemovePhoto(cmd.Context(), by, tag, args[1], forGood,
					photo.In(d.house.Dir).Remove)
				if err != nil {
					return err
				}
				return a.print(p, func(w io.Writer) {
					if !forGood {
						fmt.Fprintf(w, "%s is put aside: pitman undo %s brings it back.\n", p.Name[:12], tag)
						return
					}
					fmt.Fprintf(w, "%s is gone from the house for good. Backups made before still hold it.\n",
						p.Name[:12])
				})
			})
		},
	}
	cmd.Flags().BoolVar(&forGood, "for-good", false,
		"take its file out of the house, which nothing brings back")
	return cmd
}
