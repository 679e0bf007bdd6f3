// Package connection is what each connection to a registry's file asks SQLite for: that what was acknowledged
// survives a power cut, or that nothing changes at all.
package connection

import (
	"database/sql"
	"fmt"
	"net/url"

	_ "github.com/mattn/go-sqlite3"

	"pitman/registry/sqlite/turn"
)

// Durable opens a file for work.
func Durable(path string) (*sql.DB, error) {
	return open(path, url.Values{
		// WAL lets readers go on while one writes; FULL makes a commit durable before it returns.
		"_journal_mode": {"WAL"},
		"_synchronous":  {"FULL"},
		"_foreign_keys": {"on"},
		// One goroutine at a time has a connection, which database/sql sees to: SQLite need not lock each
		// call.
		"_mutex":        {"no"},
		"_busy_timeout": {fmt.Sprint(turn.Busy.Milliseconds())},
		// Up to 64 MB of the file stay in memory, so that an import of 100,000 rows does not read its indexes
		// over and over.
		"_cache_size": {"-65536"},
	})
}

// Unchanged opens a file that nobody else uses for reading alone.
func Unchanged(path string) (*sql.DB, error) {
	return open(path, url.Values{"mode": {"ro"}, "immutable": {"1"}})
}

func open(path string, options url.Values) (*sql.DB, error) {
	return sql.Open("sqlite3", "file:"+(&url.URL{Path: path}).EscapedPath()+"?"+options.Encode())
}
