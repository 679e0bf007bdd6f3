package statement_test

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"testing"

	_ "github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/sqlite/statement"
)

var ctx = context.Background()

func open(t *testing.T) (*statement.Pool, *sql.DB) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(t.TempDir(), "shelf.db")+"?_journal_mode=WAL")
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE shelf (name TEXT); INSERT INTO shelf VALUES ('K1'), ('K2')")
	require.NoError(t, err)
	p := statement.NewPool(db)
	t.Cleanup(func() {
		require.NoError(t, p.Close())
		assert.Zero(t, db.Stats().InUse)
		require.NoError(t, db.Close())
	})
	return p, db
}

// lent does something with a connection of the pool.
func lent(t *testing.T, p *statement.Pool, do func(*statement.Conn)) {
	t.Helper()
	require.NoError(t, p.With(ctx, func(c *statement.Conn) error {
		do(c)
		return nil
	}))
}

func prepared(t *testing.T, c *statement.Conn, text string) *statement.Statement {
	t.Helper()
	s, err := c.Prepare(ctx, text)
	require.NoError(t, err)
	return s
}

func count(t *testing.T, s *statement.Statement) (n int) {
	t.Helper()
	require.NoError(t, s.QueryRow().Scan(&n))
	return n
}

const (
	names  = "SELECT name FROM shelf"
	number = "SELECT count(*) FROM shelf"
)

func TestATextIsCompiledOnceForManyTransactions(t *testing.T) {
	p, _ := open(t)
	var first *statement.Statement
	lent(t, p, func(c *statement.Conn) { first = prepared(t, c, number) })
	lent(t, p, func(c *statement.Conn) {
		assert.Same(t, first, prepared(t, c, number))
		assert.Equal(t, 2, count(t, first))
	})
}

// Two that work at once have each their own connection, and a third one does, too, though only two are kept.
func TestEachHasAConnectionOfTheirOwn(t *testing.T) {
	p, db := open(t)
	lent(t, p, func(a *statement.Conn) {
		lent(t, p, func(b *statement.Conn) {
			lent(t, p, func(c *statement.Conn) {
				assert.NotSame(t, prepared(t, a, number), prepared(t, b, number))
				assert.NotSame(t, prepared(t, b, number), prepared(t, c, number))
			})
		})
	})
	assert.Equal(t, 2, db.Stats().InUse)
}

// What a transaction left unread must not keep the next one at the state that this one saw.
func TestNobodyReadsOnAfterTheTransaction(t *testing.T) {
	p, db := open(t)
	var rows *statement.Rows
	lent(t, p, func(c *statement.Conn) {
		var err error
		rows, err = prepared(t, c, names).Query(ctx)
		require.NoError(t, err)
		require.True(t, rows.Next())
		assert.NotSame(t, prepared(t, c, names), prepared(t, c, number))
	})
	_, err := db.Exec("INSERT INTO shelf VALUES ('K3')")
	require.NoError(t, err)
	lent(t, p, func(c *statement.Conn) {
		again, err := prepared(t, c, names).Query(ctx)
		require.NoError(t, err)
		require.True(t, again.Next())
		assert.False(t, rows.Next())
		require.NoError(t, rows.Close()) // too late, and takes nothing from whoever reads now
		other, err := prepared(t, c, names).Query(ctx)
		require.NoError(t, err)
		require.True(t, other.Next())
		require.NoError(t, other.Close())
		require.True(t, again.Next())
		require.NoError(t, again.Close())
		assert.Equal(t, 3, count(t, prepared(t, c, number)))
	})
}

// Another program may change the tables while texts wait compiled.
func TestTextsFollowTheSchema(t *testing.T) {
	p, db := open(t)
	lent(t, p, func(c *statement.Conn) { count(t, prepared(t, c, number)) })
	_, err := db.Exec("DROP TABLE shelf; CREATE VIEW shelf AS SELECT 'K9' AS name")
	require.NoError(t, err)
	lent(t, p, func(c *statement.Conn) { assert.Equal(t, 1, count(t, prepared(t, c, number))) })
}

// texts are those that a connection keeps compiled.
func texts(t *testing.T, c *statement.Conn) []string {
	t.Helper()
	plans, err := c.Plans(ctx)
	require.NoError(t, err)
	return slices.Collect(maps.Keys(plans))
}

func TestPlansTellALookUpFromAScan(t *testing.T) {
	p, db := open(t)
	_, err := db.Exec("CREATE TABLE bay (name TEXT PRIMARY KEY) STRICT")
	require.NoError(t, err)
	const one = "SELECT 1 FROM bay WHERE name = ?"
	lent(t, p, func(c *statement.Conn) {
		prepared(t, c, names)
		prepared(t, c, one)
		plans, err := c.Plans(ctx)
		require.NoError(t, err)
		assert.Equal(t, map[string][]string{names: {"SCAN shelf"},
			one: {"SEARCH bay USING COVERING INDEX sqlite_autoindex_bay_1 (name=?)"}}, plans)
	})
}

func TestNoMoreIsKeptThanTheNewest(t *testing.T) {
	p, _ := open(t)
	text := func(n int) string { return fmt.Sprintf("SELECT %d", n) }
	var kept []string
	lent(t, p, func(c *statement.Conn) {
		for n := range 1000 {
			assert.Equal(t, n, count(t, prepared(t, c, text(n))))
		}
		assert.Len(t, texts(t, c), 1000, "all, as long as the transaction lasts")
		prepared(t, c, text(0))
	})
	lent(t, p, func(c *statement.Conn) {
		kept = texts(t, c)
		assert.Equal(t, 999, count(t, prepared(t, c, text(999))))
	})
	assert.Greater(t, len(kept), 100)
	assert.Less(t, len(kept), 300)
	assert.Contains(t, kept, text(0))
	assert.Contains(t, kept, text(999))
	assert.NotContains(t, kept, text(1))
}

func TestNothingIsKeptOnceItIsClosed(t *testing.T) {
	p, db := open(t)
	lent(t, p, func(c *statement.Conn) {
		lent(t, p, func(other *statement.Conn) { prepared(t, other, number) })
		require.NoError(t, p.Close())
	})
	assert.Zero(t, db.Stats().InUse)
}

func TestWhoeverIsSentAwayGetsNoConnection(t *testing.T) {
	p, _ := open(t)
	lent(t, p, func(*statement.Conn) {})
	gone, cancel := context.WithCancel(ctx)
	cancel()
	assert.ErrorIs(t, p.With(gone, func(*statement.Conn) error { return nil }), context.Canceled)
}

func TestARowBesideTransactions(t *testing.T) {
	p, db := open(t)
	var n int
	require.NoError(t, p.Row(ctx, number+" WHERE name > ?", []any{"K1"}, &n))
	assert.Equal(t, 1, n)
	require.ErrorIs(t, p.Row(ctx, names+" WHERE name = 'K9'", nil, &n), sql.ErrNoRows)
	_, err := db.Exec("INSERT INTO shelf VALUES ('K3')")
	require.NoError(t, err)
	require.NoError(t, p.Row(ctx, number+" WHERE name > ?", []any{"K1"}, &n))
	assert.Equal(t, 2, n)
}
