package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/photo"
	"pitman/registry/story"
)

func (a *app) storyCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "story TAG -o FILE.html",
		Short: "Write a machine's story as one page: for its donor, a trainee or a supporter",
		Long: `Writes one page that stands by itself and prints on one sheet: how old the machine is
and how that is known, its pictures, what was done, and where it went. Donor, notes, people, places
and partner are left out unless house.toml names them under [story] tells.`,
		Example: `  pitman story PM17X -o heron.html`,
	}
	cmd = a.lookAtTag(cmd, func(d *workplace, tag registry.Tag) error {
		if out == "" {
			return registry.Errorf(registry.Invalid,
				"o is missing: name the file to write, such as -o story.html")
		}
		s, err := d.Story(cmd.Context(), tag)
		if err != nil {
			return err
		}
		if err := writeFile(out,
			func(w io.Writer) error { return s.WriteHTML(w, photo.In(d.house.Dir)) }); err != nil {
			return err
		}
		return a.print(struct {
			File string `json:"file"`
			*story.Story
		}{out, s}, func(w io.Writer) { fmt.Fprintf(w, "wrote the story of %s to %s\n", tag, out) })
	})
	cmd.Flags().StringVarP(&out, "output", "o", "", "the `FILE` to write")
	return cmd
}
