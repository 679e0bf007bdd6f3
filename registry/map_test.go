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

// The arrows in DEVELOPERS.md say for each package which of ours it may import. What imports more, or has no
// line there, must first be drawn there, where whoever reviews it sees a new arrow. Each has one comment that
// says what it is about.
func TestImportsKeepToTheMap(t *testing.T) {
	may := map[string][]string{}
	for _, line := range drawn(t, "map") {
		name, imports, _ := strings.Cut(line, ":")
		may[strings.TrimSpace(name)] = strings.Fields(imports)
	}
	is := imports(t)
	for name, imported := range is {
		assert.Len(t, openings(t, name), 1, "%s has one comment that says what it is about", name)
		require.Contains(t, may, name, "no line in DEVELOPERS.md")
		for _, own := range imported {
			assert.Contains(t, may[name], own, "%s imports it, which the map does not allow", name)
		}
	}
	for name := range may {
		assert.Contains(t, is, name, "has a line in DEVELOPERS.md and is no package")
	}
}

// Each package stands on one floor, above all that it imports.
func TestImportsGoDown(t *testing.T) {
	floor, at := map[string]int{}, 0
	for _, line := range drawn(t, "floors") {
		names := strings.Fields(line)
		if n, err := strconv.Atoi(names[0]); err == nil { // else the floor goes on
			at, names = n, names[1:]
		}
		for _, name := range names {
			assert.NotContains(t, floor, name, "stands on two floors")
			floor[name] = at
		}
	}
	is := imports(t)
	for name, imported := range is {
		require.Contains(t, floor, name, "stands on no floor in DEVELOPERS.md")
		for _, own := range imported {
			assert.Less(t, floor[own], floor[name], "%s imports %s", name, own)
		}
	}
	assert.Len(t, is, len(floor), "what stands on a floor is a package")
}

// drawn are the lines of a block in DEVELOPERS.md.
func drawn(t *testing.T, block string) []string {
	text, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, rest, found := strings.Cut(string(text), "```"+block+"\n")
	require.True(t, found, "DEVELOPERS.md has a block ```%s", block)
	rest, _, _ = strings.Cut(rest, "\n```")
	return strings.Split(rest, "\n")
}

// imports are ours by the package that imports them.
func imports(t *testing.T) map[string][]string {
	is := map[string][]string{}
	for _, top := range []string{"cmd", "labels", "registry", "serials"} {
		err := filepath.WalkDir(filepath.Join("..", top), func(path string, e os.DirEntry, err error) error {
			if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") ||
				strings.HasSuffix(path, "_test.go") {
				return err
			}
			name := filepath.ToSlash(filepath.Dir(path))[len("../"):]
			if is[name] == nil {
				is[name] = []string{}
			}
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			for _, im := range f.Imports {
				imported, err := strconv.Unquote(im.Path.Value)
				require.NoError(t, err)
				if own, ok := strings.CutPrefix(imported, "pitman/"); ok {
					is[name] = append(is[name], own)
				}
			}
			return nil
		})
		require.NoError(t, err)
	}
	return is
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
