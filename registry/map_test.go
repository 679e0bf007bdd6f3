package registry_test

import (
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The map in DEVELOPERS.md says for each package which of ours it may import. What imports more, or is not on
// the map, must first be drawn there, where whoever reviews it sees a new arrow. Each has one comment that
// says what it is about.
func TestImportsKeepToTheMap(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, block, found := strings.Cut(string(text), "```map\n")
	require.True(t, found, "DEVELOPERS.md has a block ```map")
	block, _, _ = strings.Cut(block, "```")
	may := map[string][]string{}
	for line := range strings.Lines(block) {
		name, imports, _ := strings.Cut(line, ":")
		may[strings.TrimSpace(name)] = strings.Fields(imports)
	}
	seen := map[string]bool{}
	for _, top := range []string{"cmd", "labels", "registry", "serials"} {
		err := filepath.WalkDir(filepath.Join("..", top), func(path string, e os.DirEntry, err error) error {
			if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") ||
				strings.HasSuffix(path, "_test.go") {
				return err
			}
			name := filepath.ToSlash(filepath.Dir(path))[len("../"):]
			seen[name] = true
			allowed, drawn := may[name]
			require.True(t, drawn, "%s is not on the map in DEVELOPERS.md", name)
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			for _, im := range f.Imports {
				imported, err := strconv.Unquote(im.Path.Value)
				require.NoError(t, err)
				if own, ok := strings.CutPrefix(imported, "pitman/"); ok {
					assert.Contains(t, allowed, own, "%s imports it, which the map does not allow", path)
				}
			}
			return nil
		})
		require.NoError(t, err)
	}
	for name := range seen {
		assert.Len(t, openings(t, name), 1, "%s has one comment that says what it is about", name)
	}
	for name := range may {
		assert.True(t, seen[name], "%s is on the map and is no package", name)
	}
}

// openings are the comments that say of a package what it is about; one of a command begins with Command.
func openings(t *testing.T, name string) (found []string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", name, "*.go"))
	require.NoError(t, err)
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil,
			parser.PackageClauseOnly|parser.ParseComments)
		require.NoError(t, err)
		said := "Package " + f.Name.Name + " "
		if f.Name.Name == "main" {
			said = "Command " + filepath.Base(name) + " "
		}
		if f.Doc != nil {
			assert.True(t, strings.HasPrefix(f.Doc.Text(), said),
				"%s: the comment of its package begins with %q", path, said)
			found = append(found, path)
		}
	}
	return found
}
