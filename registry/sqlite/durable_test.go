package sqlite

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A test cannot pull the plug, so it looks that every connection asks SQLite for what survives it.
func TestEveryConnectionIsDurable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, Create(path))
	db, err := Open(path)
	require.NoError(t, err)
	defer db.Close()
	for range 3 { // held open together, so that each is a connection of its own
		conn, err := db.sql.Conn(context.Background())
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
