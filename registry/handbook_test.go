package registry_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What DEVELOPERS.md names in backquotes as a file or by a Go name is there. Words in small letters alone may
// be anything, and are not looked for.
func TestTheHandbookNamesWhatIsThere(t *testing.T) {
	book, err := os.ReadFile(filepath.Join("..", "DEVELOPERS.md"))
	require.NoError(t, err)
	var paths strings.Builder
	words := map[string]bool{}
	require.NoError(t, filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		paths.WriteString(filepath.ToSlash(path) + "\n")
		if filepath.Ext(path) != ".go" {
			return nil
		}
		text, err := os.ReadFile(path)
		for _, w := range regexp.MustCompile(`\w+`).FindAllString(string(text), -1) {
			words[w] = true
		}
		return err
	}))
	named := 0
	for _, quoted := range regexp.MustCompile("`([^`\n]+)`").FindAllStringSubmatch(string(book), -1) {
		switch name := quoted[1]; {
		case regexp.MustCompile(`^[\w/]+\.(go|txt|js)$`).MatchString(name):
			named++
			assert.Contains(t, paths.String(), "/"+name+"\n", "no such file")
		case regexp.MustCompile(`^[A-Za-z.]*[a-z][A-Z][A-Za-z.]*$`).MatchString(name):
			named++
			assert.True(t, words[name[strings.LastIndex(name, ".")+1:]], "nothing is called %s", name)
		}
	}
	assert.Greater(t, named, 50, "the names were not found")
}
