package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/mattn/go-sqlite3"
)

const (
	forWriting = "BEGIN IMMEDIATE"
	forReading = "BEGIN"
)

// start begins a transaction. A writer waits for its turn here and not in SQLite, whose own handler sleeps
// ever longer, up to a tenth of a second: whoever has waited long then looks seldom, and among desks that
// write at full speed it is passed over for seconds. Everyone looking about once a millisecond, all have the
// same chance however long they have waited.
func start(ctx context.Context, conn *sql.Conn, begin string) error {
	if begin != forWriting {
		_, err := conn.ExecContext(ctx, begin)
		return err
	}
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err != nil {
		return err
	}
	defer conn.ExecContext(context.WithoutCancel(ctx),
		fmt.Sprintf("PRAGMA busy_timeout = %d", busy.Milliseconds()))
	for deadline := time.Now().Add(busy); ; {
		_, err := conn.ExecContext(ctx, begin)
		var e sqlite3.Error
		if !errors.As(err, &e) || e.Code != sqlite3.ErrBusy || time.Now().After(deadline) {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Millisecond/2 + rand.N(time.Millisecond)):
		}
	}
}
