package house_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/house"
	"pitman/registry/lists"
	"pitman/registry/stock"
)

// Whichever list is wrong, the check of all lists names it.
func TestEveryListIsChecked(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, stock.HouseConfig{Name: "Lantern Row", Letters: "LR", Zone: "UTC"})
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(filepath.Join(dir, lists.Folder), 0o700))
	names, err := fs.Glob(lists.Defaults(), "*.csv")
	require.NoError(t, err)
	for _, name := range names {
		file := filepath.Join(dir, lists.Folder, name)
		require.NoError(t, os.WriteFile(file, []byte("colour\nblack\n"), 0o600))
		h, err := house.Open(dir)
		require.NoError(t, err)
		assert.ErrorContains(t, h.CheckLists(), "lists/"+name, "%s", name)
		require.NoError(t, os.Remove(file))
	}
	h, err := house.Open(dir)
	require.NoError(t, err)
	assert.NoError(t, h.CheckLists())
}
