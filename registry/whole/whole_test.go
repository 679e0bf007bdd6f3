package whole_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/whole"
)

func TestWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "list.csv")
	require.NoError(t, whole.Write(path, []byte("one"), 0o600))
	f, err := whole.Create(path, "", 0o600)
	require.NoError(t, err)
	_, err = f.WriteString("half of tw")
	require.NoError(t, err)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "one", string(text))
	require.NoError(t, f.Cleanup())
	require.NoError(t, whole.Write(path, []byte("two"), 0o600))
	text, err = os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "two", string(text))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1, "something was left behind")
	require.NoError(t, whole.SyncFolder(dir))
}
