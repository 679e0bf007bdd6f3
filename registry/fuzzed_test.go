package registry_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readsText are the names of what makes something of text or bytes from outside, where it takes such.
var (
	readsText = regexp.MustCompile(`^(Parse|Read)([A-Z]|$)`)
	textTypes = []string{"string", "[]string", "[]byte", "io.Reader"}
	namedOnly = []string{"ReadBounded", "ReadKeys", "ReadLists", "ReadSmall"} // they take the name of a file or folder
)

// Every parser has a fuzz target that reaches it by its name, in its own package or in another.
func TestEveryParserIsFuzzed(t *testing.T) {
	parsers, fuzzed := map[string]string{}, map[string]bool{}
	files := token.NewFileSet()
	for _, dir := range []string{".", filepath.Join("..", "serials"), filepath.Join("..", "labels"),
		filepath.Join("..", "cmd")} {
		require.NoError(t, filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
			if err != nil || filepath.Ext(path) != ".go" {
				return err
			}
			file, err := parser.ParseFile(files, path, nil, 0)
			require.NoError(t, err)
			for _, d := range file.Decls {
				f, ok := d.(*ast.FuncDecl)
				switch {
				case !ok:
				case strings.HasSuffix(path, "_test.go"):
					if strings.HasPrefix(f.Name.Name, "Fuzz") {
						names(f.Body, fuzzed)
					}
				case f.Recv == nil && f.Name.IsExported() && readsText.MatchString(f.Name.Name) && takesText(f):
					parsers[f.Name.Name] = path
				}
			}
			return nil
		}))
	}
	assert.Greater(t, len(parsers), 25, "the parsers were not found")
	for name, path := range parsers {
		assert.True(t, fuzzed[name] || slices.Contains(namedOnly, name), "no fuzz target reaches %s of %s",
			name, path)
	}
}

// names notes what a function speaks of.
func names(body ast.Node, into map[string]bool) {
	ast.Inspect(body, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok {
			into[id.Name] = true
		}
		return true
	})
}

func takesText(f *ast.FuncDecl) bool {
	return slices.ContainsFunc(f.Type.Params.List, func(p *ast.Field) bool {
		return slices.Contains(textTypes, typeName(p.Type))
	})
}

func typeName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.ArrayType:
		return "[]" + typeName(e.Elt)
	case *ast.SelectorExpr:
		return typeName(e.X) + "." + e.Sel.Name
	}
	return ""
}
