package blank

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"pitman/registry"
	"pitman/registry/sqlite/turn"
)

// Scrub clears the file of what was put out of it: SQLite leaves old bytes where a row has been, and in its
// log.
func Scrub(ctx context.Context, db *sql.DB) error {
	if _, err := db.ExecContext(ctx, "VACUUM"); err != nil {
		return err
	}
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	var told [3]int // whether it could, and of how many pages
	for began := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		// SQLite calls it no error where others read, and waits for them as it would for a writer.
		if _, err = conn.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err == nil {
			err = conn.QueryRowContext(ctx, "PRAGMA wal_checkpoint (TRUNCATE)").Scan(&told[0], &told[1],
				&told[2])
		}
		_, again := conn.ExecContext(context.WithoutCancel(ctx),
			fmt.Sprintf("PRAGMA busy_timeout = %d", turn.Busy.Milliseconds()))
		if err = errors.Join(err, again); err == nil && told[0] == 0 {
			return nil
		}
		if err != nil && ctx.Err() == nil {
			return err
		}
		if ctx.Err() != nil || time.Since(began) > readersEnd {
			return registry.Errorf(registry.Conflict, "another program is reading it")
		}
	}
}

// readersEnd is how long another program may go on reading.
const readersEnd = 5 * time.Second
