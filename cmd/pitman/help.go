package main

import (
	"embed"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/rivo/uniseg"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"pitman/registry"
)

// The topics of the handbook, one text file each: the first line is the heading. A paragraph is one line;
// lines that begin with blanks are examples and stand as they are; lines that begin with "- " are items.
//
//go:embed help/*.txt
var topics embed.FS

// topicNames lists the topics in the order of a day's work.
var topicNames = []string{"sewing-day", "dating", "tables", "testing", "safety", "bases", "matching",
	"sending", "store",
	"labels", "phones", "spreadsheets",
	"two-houses", "backup"}

// topic returns a topic's heading and text.
func topic(name string) (heading, text string, ok bool) {
	if !slices.Contains(topicNames, name) {
		return "", "", false
	}
	b, err := fs.ReadFile(topics, path.Join("help", name+".txt"))
	if err != nil {
		panic(err) // it is compiled in
	}
	heading, _, _ = strings.Cut(string(b), "\n")
	return heading, string(b), true
}

// helpCommand tells of a topic or a command. Where both have one name, it is the topic, which leads on to the
// command.
func (a *app) helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [TOPIC or command]",
		Short: "Read the handbook, or how a command is used",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string,
			cobra.ShellCompDirective) {
			at, _, err := cmd.Root().Find(args)
			if err != nil {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var names []string
			for _, sub := range at.Commands() {
				if sub.IsAvailableCommand() && !slices.Contains(topicNames, sub.Name()) {
					names = append(names, sub.Name())
				}
			}
			if len(args) == 0 {
				names = append(names, topicNames...)
			}
			return closest(names, typed), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			at, rest, err := root.Find(args)
			if len(args) == 1 {
				if heading, text, ok := topic(args[0]); ok {
					return a.printTopic(args[0], heading, text, at != root && err == nil)
				}
			}
			if err != nil || len(rest) > 0 {
				return registry.Errorf(registry.NotFound,
					"there is no command and no topic %q: pitman help lists them", strings.Join(args, " "))
			}
			at.InitDefaultHelpFlag()
			return a.help(at)
		},
	}
}

func (a *app) printTopic(name, heading, text string, command bool) error {
	result := struct {
		Topic   string `json:"topic"`
		Heading string `json:"heading"`
		Text    string `json:"text"`
	}{name, heading, text}
	return a.print(result, func(w io.Writer) {
		io.WriteString(w, fill(text, a.width()))
		if command {
			fmt.Fprintf(w, "\nHow the command is used: pitman %s --help\n", name)
		}
	})
}

// Widths of help. Lines longer than the widest are hard to read; narrower than the narrowest, words fall
// apart.
const (
	widest    = 100
	narrowest = 30
	usual     = 80 // where the screen does not say
)

// width is how wide the screen is that results go to.
func (a *app) width() int {
	if w := screenWidth(a.stdout); w > 0 {
		return max(narrowest, min(w, widest))
	}
	return usual
}

// screenWidth is how many characters fit on a line of a terminal, or 0 for whatever is none.
func screenWidth(w io.Writer) int {
	if f, ok := w.(interface{ Fd() uintptr }); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			return width
		}
	}
	return 0
}

// help prints the help of a command or a topic, as wide as the screen.
func (a *app) help(cmd *cobra.Command) error {
	if a.json {
		return a.print(helpOf(cmd), nil)
	}
	text := cmd.Long
	if text == "" {
		text = cmd.Short
	}
	if _, err := io.WriteString(a.out, fill(strings.TrimSpace(text), a.width())); err != nil {
		return err
	}
	if cmd.Runnable() || cmd.HasSubCommands() {
		cmd.SetUsageTemplate(strings.ReplaceAll(cmd.UsageTemplate(), ".FlagUsages",
			fmt.Sprintf(".FlagUsagesWrapped %d", a.width())))
		if _, err := fmt.Fprintf(a.out, "\n%s", cmd.UsageString()); err != nil {
			return err
		}
	}
	if cmd.HasParent() {
		return nil
	}
	fmt.Fprintln(a.out, "\nThe handbook, by pitman help TOPIC:")
	columns(a.out, func(w io.Writer) {
		for _, name := range topicNames {
			heading, _, _ := topic(name)
			fmt.Fprintf(w, "  %s\t%s\n", name, heading)
		}
	})
	return nil
}

// commandHelp is the help of a command for programs.
type commandHelp struct {
	Command  string        `json:"command"`
	Usage    string        `json:"usage"`
	Short    string        `json:"short"`
	Text     string        `json:"text"`
	Examples string        `json:"examples"`
	Flags    []flagHelp    `json:"flags"`
	Commands []commandLine `json:"commands"`
	Topics   []commandLine `json:"topics"`
}

type commandLine struct {
	Name  string `json:"name"`
	Short string `json:"short"`
}

type flagHelp struct {
	Name    string `json:"name"`
	Takes   string `json:"takes"` // what its value is called in the usage; empty for a flag without one
	Default string `json:"default"`
	Usage   string `json:"usage"`
}

func helpOf(cmd *cobra.Command) commandHelp {
	h := commandHelp{Command: cmd.CommandPath(), Usage: cmd.UseLine(), Short: cmd.Short,
		Text: strings.TrimSpace(cmd.Long), Examples: cmd.Example,
		Flags: []flagHelp{}, Commands: []commandLine{}, Topics: []commandLine{}}
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			h.Commands = append(h.Commands, commandLine{sub.Name(), sub.Short})
		}
	}
	if !cmd.HasParent() {
		for _, name := range topicNames {
			heading, _, _ := topic(name)
			h.Topics = append(h.Topics, commandLine{name, heading})
		}
	}
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if takes, usage := pflag.UnquoteUsage(f); !f.Hidden {
			h.Flags = append(h.Flags, flagHelp{f.Name, takes, f.DefValue, usage})
		}
	})
	return h
}

// fill breaks a text into lines of a width. A line that is too long flows on into the next one of its
// paragraph; items hang; examples, which begin with blanks, stand as they are.
func fill(text string, width int) string {
	var b strings.Builder
	var words []string // of a line that flows on
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	for i, line := range lines {
		flows := plainLine(line) && (len(words) > 0 || uniseg.StringWidth(line) > width)
		if !flows {
			b.WriteString(line + "\n")
			continue
		}
		words = append(words, strings.Fields(line)...)
		if i+1 < len(lines) && plainLine(lines[i+1]) && !strings.HasPrefix(lines[i+1], "- ") &&
			uniseg.StringWidth(line) > width {
			continue
		}
		hang := ""
		if words[0] == "-" {
			hang = "  "
		}
		writeFilled(&b, words, hang, width)
		words = nil
	}
	return b.String()
}

// plainLine says whether a line is part of a paragraph.
func plainLine(line string) bool {
	return line != "" && line[0] != ' ' && line[0] != '\t'
}

func writeFilled(b *strings.Builder, words []string, hang string, width int) {
	at := 0
	for i, word := range words {
		w := uniseg.StringWidth(word)
		switch {
		case i == 0:
		case at+1+w > width:
			b.WriteString("\n" + hang)
			at = len(hang)
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += w
	}
	b.WriteByte('\n')
}
