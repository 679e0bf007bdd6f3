package main

import (
	"runtime/debug"

	"github.com/spf13/cobra"
)

// sayVersion gives the program its --version: the version, and the commit that it was built from.
func sayVersion(root *cobra.Command) {
	info, _ := debug.ReadBuildInfo()
	root.Version = versionOf(info)
	root.SetVersionTemplate("pitman {{.Version}}\n")
	root.InitDefaultVersionFlag()
	root.Flags().Lookup("version").Usage = "print the version, and the commit it was built from"
}

// versionOf says what the build says of itself; a program that was built without its history, such as from a
// copy of the files, knows nothing.
func versionOf(info *debug.BuildInfo) string {
	version, commit := "devel", "unknown"
	if info != nil {
		if info.Main.Version != "" && info.Main.Version != "(devel)" {
			version = info.Main.Version
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && s.Value != "" {
				commit = s.Value
			}
		}
	}
	return version + " (" + commit + ")"
}
