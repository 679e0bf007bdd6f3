package connection_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/sqlite/connection"
)

// A test cannot pull the plug, so it looks that every connection asks SQLite for what survives it.
func TestEveryConnectionIsDurable(t *testing.T) {
	db, err := connection.Durable(filepath.Join(t.TempDir(), "pitman.db"))
	require.NoError(t, err)
	defer db.Close()
	for range 3 { // held open together, so that each is a connection of its own
		conn, err := db.Conn(context.Background())
		require.NoError(t, err)
		defer conn.Close()
		for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2",
			"foreign_keys": "1", "busy_timeout": "60000"} {
			var got string
			require.NoError(t, conn.QueryRowContext(context.Background(), "PRAGMA "+pragma).Scan(&got))
			assert.Equal(t, want, got, pragma)
		}
	}
}

func TestWhatIsLookedAtStaysUnchanged(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "100% ?.db")
	db, err := connection.Durable(path)
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE shelf (name TEXT) STRICT")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	looked, err := connection.Unchanged(path)
	require.NoError(t, err)
	defer looked.Close()
	var n int
	require.NoError(t, looked.QueryRow("SELECT count(*) FROM shelf").Scan(&n))
	_, err = looked.Exec("INSERT INTO shelf VALUES ('bay 2')")
	assert.ErrorContains(t, err, "readonly")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, files, 1, "no file beside it")
}
