package registry_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// typedAtACommandLine is what only a command line understands: the program with a command's word behind it,
// a flag, or the word for either.
var typedAtACommandLine = regexp.MustCompile(
	`\bpitman [a-z]|(^|[^-\w])--[a-z]|\b(command|option|subcommand|argument)s?\b|\bflags?\b`)

// No sentence of the registry names a command or a flag: what comes next is a Step, which each front end says
// in its own way.
func TestNoSentenceNamesACommand(t *testing.T) {
	seen := 0
	for _, dir := range []string{".", filepath.Join("..", "serials"), filepath.Join("..", "labels")} {
		require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
				return nil
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			require.NoError(t, err)
			seen++
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					text, err := strconv.Unquote(lit.Value)
					require.NoError(t, err)
					assert.False(t, typedAtACommandLine.MatchString(text), "%s: %q", path, text)
				}
				return true
			})
			return nil
		}))
	}
	assert.Greater(t, seen, 100, "the files of the registry were not found")
	for _, bad := range []string{"run pitman match again", "give --why", "--by INITIALS is missing",
		"add it again by its command", "leave the flag out"} {
		assert.True(t, typedAtACommandLine.MatchString(bad), bad)
	}
}
