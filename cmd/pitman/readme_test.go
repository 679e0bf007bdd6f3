package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write what the commands print today into README.md")

// What README.md shows is what the commands print. The blocks marked console are played in order, in one demo
// house, on the Monday after its last day; a line of three dots stands for lines left out.
func TestReadmeShowsWhatIsPrinted(t *testing.T) {
	path, err := filepath.Abs("../../README.md")
	require.NoError(t, err)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	lines := strings.Split(string(text), "\n")
	t.Chdir(t.TempDir())
	t.Setenv("PITMAN_BY", "")
	t.Setenv("PITMAN_HOUSE", "demo-house")
	play(t, "pitman demo demo-house")

	var out []string
	played := 0
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		if lines[i] != "```console" {
			continue
		}
		for i++; lines[i] != "```"; {
			command, ok := strings.CutPrefix(lines[i], "$ ")
			require.True(t, ok, "line %d of README.md belongs to no command", i+1)
			var shown []string
			for i++; lines[i] != "```" && !strings.HasPrefix(lines[i], "$ "); i++ {
				shown = append(shown, lines[i])
			}
			printed := play(t, command)
			if strings.Contains(command, " label LR1I LR2G ") {
				checkPicture(t, filepath.Join(filepath.Dir(path), "testdata", "readme-labels.png"))
			}
			if *update && len(shown) == 0 {
				shown = printed
			}
			assert.True(t, matches(shown, printed), "README.md shows after %q:\n%s\n\nand it prints:\n%s",
				command,
				strings.Join(shown, "\n"), strings.Join(printed, "\n"))
			out = append(append(out, "$ "+command), shown...)
			played++
		}
		out = append(out, lines[i])
	}
	assert.Greater(t, played, 10)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(strings.Join(out, "\n")), 0o644))
	}
}

// play runs a command line and returns what it prints, results and errors alike.
func play(t *testing.T, line string) []string {
	args := shellWords(line)
	require.Equal(t, "pitman", args[0], line)
	var printed bytes.Buffer
	a := &app{in: strings.NewReader(""), out: &printed, err: &printed,
		now: func() time.Time { return time.Date(2026, 9, 21, 10, 0, 0, 0, time.UTC) }}
	a.run(context.Background(), args[1:])
	lines := strings.Split(strings.TrimRight(printed.String(), "\n"), "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return lines
}

// shellWords splits a command line as a shell does, as far as README.md needs it: at blanks outside quotes.
func shellWords(line string) (args []string) {
	var word strings.Builder
	quote, started := rune(0), false
	for _, r := range line + " " {
		switch {
		case quote != 0 && r == quote:
			quote = 0
		case quote == 0 && (r == '"' || r == '\''):
			quote, started = r, true
		case quote == 0 && r == ' ':
			if started {
				args = append(args, word.String())
			}
			word.Reset()
			started = false
		default:
			word.WriteRune(r)
			started = true
		}
	}
	return args
}

// matches says whether printed is what is shown, with "..." for any number of lines.
func matches(shown, printed []string) bool {
	for len(shown) > 0 {
		if shown[0] == "..." {
			for n := range len(printed) + 1 {
				if matches(shown[1:], printed[n:]) {
					return true
				}
			}
			return false
		}
		if len(printed) == 0 || shown[0] != printed[0] {
			return false
		}
		shown, printed = shown[1:], printed[1:]
	}
	return len(printed) == 0
}
