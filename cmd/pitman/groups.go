package main

import "github.com/spf13/cobra"

// groups part the commands by who needs them, in the order of the work.
var groups = []struct {
	id, title string
	commands  []string
}{
	{"door", "On the sewing day:",
		[]string{"desk", "log", "show", "list", "history", "amend", "date", "label", "triage", "move",
			"count", "base", "photo", "plate", "undo"}},
	{"bench", "At the bench:",
		[]string{"bench", "spare", "slip", "convert", "mains", "work", "hold", "release", "stages"}},
	{"tester", "For the tester:", []string{"test", "safety", "recall", "faults"}},
	{"coordinator", "For the coordinator:",
		[]string{"worklist", "report", "takings", "order", "partner", "shipment", "match", "need",
			"neighbour", "fit",
			"bed", "kit",
			"report-back", "story"}},
	{"keeper", "For whoever keeps the house:",
		[]string{"init", "demo", "import", "export", "bundle", "house", "tables", "makers", "redate", "lists",
			"scheme",
			"people", "phones", "serve",
			"backup", "restore", "verify", "repair", "forget"}},
}

// group shows each command in its group; one that is in none comes last, among what the program says of
// itself.
func group(root *cobra.Command) {
	for _, g := range groups {
		root.AddGroup(&cobra.Group{ID: g.id, Title: g.title})
		for _, name := range g.commands {
			for _, cmd := range root.Commands() {
				if cmd.Name() == name {
					cmd.GroupID = g.id
				}
			}
		}
	}
}

// meantBy leads from words that people try to the command that does it, as it is typed; %s stands for what
// they typed behind it.
var meantBy = map[string]string{
	"find": "list --text %s", "search": "list --text %s", "look": "list --text %s", "where": "list --text %s",
	"add": "log", "new": "log", "receive": "log", "intake": "log", "machine": "show %s", "info": "show %s",
	"view": "show %s",
	"sell": "triage %s --to sale", "scrap": "triage %s --to scrap", "strip": "triage %s --to parts",
	"refurbish": "triage %s --to refurbish",
	"mend":      "bench start %s", "done": "bench finish %s", "pass": "test %s",
	"check":    "test %s",
	"electric": "safety %s", "pat": "safety %s", "todo": "worklist", "next": "worklist", "tasks": "worklist",
	"year": "date %s", "age": "date %s",
	"print": "label %s", "who": "people", "users": "people", "correct": "amend %s", "edit": "amend %s",
	"place": "move %s", "delete": "undo",
	"remove": "undo", "setup": "init", "start": "desk", "open": "desk", "save": "backup",
	"ship": "order ship %s", "pack": "order pack %s",
	"part": "spare", "parts": "spare", "stats": "report", "version": "--version",
}
