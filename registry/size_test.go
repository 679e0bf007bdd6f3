package registry_test

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A package that a person can hold in the head has this much in it, tests aside.
const (
	maxLinesOfPackage = 3000
	maxFilesOfPackage = 25
)

// A file that a person reads without scrolling sideways, or losing the thread, keeps to this.
const (
	maxColumns     = 110 // a tab is one
	maxLinesOfFile = 500
)

func TestPackagesKeepToTheMeasure(t *testing.T) {
	lines, files := map[string]int{}, map[string]int{}
	for _, top := range []string{"labels", "registry", "serials"} {
		err := filepath.WalkDir(filepath.Join("..", top), func(path string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") ||
				strings.HasSuffix(path, "_test.go") {
				return err
			}
			text, err := os.ReadFile(path)
			name := filepath.ToSlash(filepath.Dir(path))[len("../"):]
			lines[name] += bytes.Count(text, []byte("\n"))
			files[name]++
			return err
		})
		require.NoError(t, err)
	}
	for name, n := range lines {
		assert.LessOrEqual(t, n, maxLinesOfPackage, "%s has more lines than a package may: part it by what it is about",
			name)
		assert.LessOrEqual(t, files[name], maxFilesOfPackage, "%s has more files than a package may", name)
	}
}

func TestFilesKeepToTheMeasure(t *testing.T) {
	files := 0
	for _, top := range []string{"cmd", "labels", "registry", "serials"} {
		err := filepath.WalkDir(filepath.Join("..", top), func(path string, e fs.DirEntry, err error) error {
			if err != nil || e.IsDir() || !strings.HasSuffix(path, ".go") {
				return err
			}
			text, err := os.ReadFile(path)
			files++
			lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
			assert.LessOrEqual(t, len(lines), maxLinesOfFile, "%s: part it by what it is about", path)
			if strings.HasSuffix(path, "_test.go") { // what is expected may be long
				return err
			}
			for i, line := range lines {
				assert.LessOrEqual(t, utf8.RuneCountInString(line), maxColumns, "%s:%d: wrap it", path, i+1)
			}
			return err
		})
		require.NoError(t, err)
	}
	assert.Greater(t, files, 800, "it looks where the code is")
}
