package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"pitman/registry"
)

func (a *app) manCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "man DIR",
		Short: "Write the manual pages of all commands and topics to a folder",
		Long: `Writes a manual page for each command (section 1) and each topic of the handbook
(section 7). To read them with man, write them to a folder that man looks in:

  pitman man ~/.local/share/man/man1
  man pitman-log`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return registry.Errorf(registry.Invalid, "%v: name a folder that can be written", err)
			}
			day := a.now().UTC()
			header := &doc.GenManHeader{Title: "PITMAN", Section: "1", Source: "pitman", Manual: "pitman",
				Date: &day}
			root := cmd.Root()
			root.DisableAutoGenTag = true
			if err := doc.GenManTree(root, header, args[0]); err != nil {
				return err
			}
			for _, name := range topicNames {
				heading, text, _ := topic(name)
				_, text, _ = strings.Cut(text, "\n")
				page := &cobra.Command{Use: "pitman-" + name, Short: heading,
					Long:              strings.ReplaceAll(text, "\n  ", "\n\t"),
					DisableAutoGenTag: true, DisableFlagsInUseLine: true}
				about := &doc.GenManHeader{Title: "PITMAN-" + strings.ToUpper(name), Section: "7",
					Source: "pitman", Manual: "pitman", Date: &day}
				if err := writeFile(filepath.Join(args[0], page.Use+".7"),
					func(w io.Writer) error { return doc.GenMan(page, about, w) }); err != nil {
					return err
				}
			}
			pages := commandPages(root) + len(topicNames)
			result := struct {
				Dir   string `json:"dir"`
				Pages int    `json:"pages"`
			}{args[0], pages}
			return a.print(result,
				func(w io.Writer) { fmt.Fprintf(w, "wrote %s to %s\n", plural(pages, "page"), args[0]) })
		},
	}
}

// commandPages counts the manual pages of a command and of those under it.
func commandPages(cmd *cobra.Command) int {
	n := 1
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			n += commandPages(sub)
		}
	}
	return n
}
