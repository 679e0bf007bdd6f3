package main

import (
	"bytes"
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pitman/registry/archive"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What no field may do to the screen of whoever reads it: clear it, rename its window, type for them, turn
// the text around.
const evil = "a\x1b[2J\x1b]0;x\x07\x9b31m\u009b1m\x00\x7f\r\u202eb"

// Every command runs on a house in which every text was poisoned behind pitman's back, with poisoned
// arguments, too.
func TestNoEscapeCodeReachesTheTerminal(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	t.Chdir(t.TempDir())
	run := func(args ...string) (int, string) {
		var out bytes.Buffer
		a := &app{in: &bytes.Buffer{}, out: &out, err: &out, now: time.Now}
		status := a.run(context.Background(), append([]string{"--house", dir, "--by", "QX"}, args...))
		return status, out.String()
	}
	for _, args := range [][]string{
		{"init"},
		{"log", "--maker", "Willcox & Gibbs", "--serial", "15000", "--drive", "treadle", "--place", "a",
			"--donor", "b", "--note", "c"},
		{"log", "--maker", "Willcox & Gibbs", "--serial", "15001", "--drive", "electric", "--place", "a"},
		{"triage", "PM16", "--to", "refurbish", "--why", "complete"},
		{"bench", "start", "PM16"},
		{"base", "add", "--top", "missing", "--maker", "A"},
	} {
		status, out := run(args...)
		require.Zero(t, status, "%v: %s", args, out)
	}
	poison(t, filepath.Join(dir, archive.DBFile))
	for name, text := range map[string]string{
		"tables/evil.csv": "maker,prefix,first,last,from,to,model,works,source,note\n" + evil +
			",,1,9,1900,1901," + evil + ",," + evil + "," + evil + "\n",
		"tables/faulty.csv": evil + "\n" + evil + "," + evil,
		"in.csv":            "maker,serial," + evil + "\n" + evil + "," + evil + "\n",
		evil[:3] + ".csv":   evil,
	} {
		path := name
		if strings.HasPrefix(name, "tables/") {
			path = filepath.Join(dir, name)
		}
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}

	// Left out are the commands that make other houses or folders, the one that takes the whole screen over,
	// and the one that serves pages until it is stopped: what its pages print is escaped by their templates,
	// and tested there.
	skipped := []string{"pitman demo", "pitman growth make", "pitman growth measure", "pitman desk",
		"pitman man",
		"pitman serve"}
	ran, commands := 0, 0
	eachCommand((&app{}).root(), func(cmd *cobra.Command) {
		path := cmd.CommandPath()
		if slices.Contains(skipped, path) || strings.HasPrefix(path, "pitman completion") {
			return
		}
		words := strings.Fields(path)[1:]
		for i, args := range [][]string{
			{}, {"PM16"}, {"PM24"}, {evil}, {"PM16", evil}, {evil, "PM16"}, {"PM16", "1"}, {"--" + evil},
			{"in.csv"}, {"--json"}, {"PM16", "--json"},
			{"--maker", evil}, {"--text", "a"}, {"--why", evil}, {"machines", "-o", "-"},
			{"history", "-o", "-"}, {"--house", evil}, {"--by", evil},
			{"15000", "--maker", evil}, {"1", "--maker", evil}, {evil, "--maker", evil},
			{"in.csv", "--preview"},
		} {
			// On each change every third, beginning with another for each command.
			if !startAll && (i+commands)%3 != 0 {
				continue
			}
			_, out := run(append(slices.Clone(words), args...)...)
			if at := strings.IndexFunc(out, raw); at >= 0 || !utf8.ValidString(out) {
				assert.Fail(t, "raw", "pitman %q prints %q", append(slices.Clone(words), args...),
					out[max(0, at-40):min(len(out), at+40)])
			}
			ran++
		}
		commands++
	})
	assert.Greater(t, ran, 500)
	_, out := run("show", "PM16")
	assert.Contains(t, out, "\uFFFD", "the poison is in the house, and is shown to be there")
}

func raw(r rune) bool { return r != '\n' && r != '\t' && hidden(r) }

func eachCommand(cmd *cobra.Command, fn func(*cobra.Command)) {
	if cmd.Runnable() {
		fn(cmd)
	}
	for _, sub := range cmd.Commands() {
		eachCommand(sub, fn)
	}
}

// poison writes into every column that holds free text.
func poison(t *testing.T, path string) {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	defer db.Close()
	for table, columns := range map[string][]string{
		"machine": {"maker", "serial", "model", "donor", "condition", "place", "note", "logged_by",
			"held_why", "unsafe_why"},
		"base":  {"maker", "pattern", "condition", "place", "donor", "note"},
		"work":  {"by", "note"},
		"print": {"by"},
	} {
		for _, column := range columns {
			_, err := db.Exec("UPDATE "+table+" SET "+column+" = ?", evil)
			require.NoError(t, err, "%s.%s", table, column)
		}
	}
	// The trigger comes back as it was: a house whose schema was changed is not opened, and would show
	// nothing.
	var trigger string
	require.NoError(t,
		db.QueryRow("SELECT sql FROM sqlite_schema WHERE name = 'action_stays'").Scan(&trigger))
	for _, text := range []string{"DROP TRIGGER action_stays", "UPDATE action SET why = '" + evil +
		"', verb = verb || '" + evil + "'",
		"INSERT INTO person VALUES ('" + evil + "', '2001-01-01T00:00:00.000Z')", trigger} {
		_, err = db.Exec(strings.ReplaceAll(text, "\x00", ""))
		require.NoError(t, err)
	}
}
