package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/kinds"
	"pitman/registry/undo"
)

func (a *app) undoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "undo [TAG or ORDER]",
		Short: "Reverse your last action, or the last one on a machine, base or order",
		Long: `Puts back what your last action changed, or what was last done to the machine with
TAG. Nothing is lost: the history keeps the action and its undoing. An action that others have built
on is not undone.`,
		Example: `  pitman undo --by QX
  pitman undo PM16 --by QX`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var tags []registry.Tag
			for _, arg := range args {
				tag, err := kinds.ParseSubject(arg)
				if err != nil {
					return err
				}
				tags = append(tags, tag)
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				var done *undo.Undone
				var err error
				if len(tags) > 0 {
					done, err = d.UndoOn(cmd.Context(), by, tags[0])
				} else {
					done, err = d.Undo(cmd.Context(), by)
				}
				if err != nil {
					return err
				}
				return a.print(done, func(w io.Writer) {
					fmt.Fprintf(w, "undone: %s of %s by %s, %s\n", done.Action,
						registry.FirstFew(done.Subjects), done.By, d.localTime(done.At))
				})
			})
		},
	}
}
