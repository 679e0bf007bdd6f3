package imports_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/imports"
	"pitman/registry/lists"
)

// A heading may have a line break in it. What is answered of it anew takes the place of the first answer, as
// for any other, and all else stays as somebody wrote it.
func TestAnswersOfAHeadingOfTwoLines(t *testing.T) {
	house := t.TempDir()
	file := filepath.Join(house, lists.Folder, "columns.csv")
	require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o700))
	require.NoError(t, os.WriteFile(file, []byte("column,field\n# ours\n\"Made by\",maker\n\n"), 0o600))
	for _, field := range []string{"model", "serial"} {
		require.NoError(t, imports.Remember(house, []imports.ColumnName{{Column: "On the\nbed",
			Field: field}}))
	}
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "column,field\n# ours\n\"Made by\",maker\n\n\"On the\nbed\",serial\n", string(text))
	require.NoError(t, imports.Forget(house, []string{"on the bed"}))
	text, err = os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "column,field\n# ours\n\"Made by\",maker\n\n", string(text))
}

// What is answered reads back the same, is forgotten for good, and takes nothing along that is another's.
func FuzzAnswers(f *testing.F) {
	for _, seed := range []string{"On the\nbed", "#", "# 2", "a\"b", " Colour ", "a,b", "\r\nx"} {
		f.Add(seed, "# ours\n\"Made\nby\",maker\n")
	}
	f.Add("Turned by", "\r\nElse,maker\r\nturned-by,drive\n\"x\"y\nTurned,")
	f.Fuzz(func(t *testing.T, heading, list string) {
		answer := imports.ColumnName{Column: heading, Field: "model"}
		builtIn, err := lists.BuiltIn[imports.ColumnName]("columns.csv")
		require.NoError(t, err)
		isKnown := func(c imports.ColumnName) bool { return c.Key() == answer.Key() }
		if answer.Check() != nil || slices.ContainsFunc(builtIn, isKnown) || strings.Contains(heading,
			"\r") ||
			!utf8.ValidString(heading) || !utf8.ValidString(list) || strings.ContainsRune(heading+list, 0) {
			return
		}
		house := t.TempDir()
		file := filepath.Join(house, lists.Folder, "columns.csv")
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o700))
		stands := func() []byte {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			return text
		}
		require.NoError(t, os.WriteFile(file, []byte("column,field\n"+list), 0o600))
		require.NoError(t, imports.Forget(house, []string{heading}))
		before := stands()
		rows := csv.NewReader(bytes.NewReader(before))
		rows.FieldsPerRecord, rows.Comment = -1, '#'
		if _, err := rows.ReadAll(); err != nil {
			return // an open quotation mark takes whatever follows
		}
		if before[len(before)-1] != '\n' {
			before = append(before, '\n')
		}
		require.NoError(t, imports.Remember(house, []imports.ColumnName{answer}))
		added, found := bytes.CutPrefix(stands(), before)
		require.True(t, found, "%q", stands())
		row, err := csv.NewReader(bytes.NewReader(added)).Read()
		require.NoError(t, err)
		require.Equal(t, []string{strings.TrimSpace(heading), "model"}, []string{strings.TrimSpace(row[0]),
			row[1]})
		require.NoError(t, imports.Forget(house, []string{heading}))
		require.Equal(t, string(before), string(stands()))
	})
}
