// Package turn is how a writer of a registry waits for the one before it.
package turn

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"time"

	"github.com/mattn/go-sqlite3"
)

// How a transaction begins.
const (
	Writing = "BEGIN IMMEDIATE"
	Reading = "BEGIN"
)

// Busy is how long a write waits for others that do not get on before it gives up; a crowd of desks queues
// for milliseconds, not seconds.
const Busy = 60 * time.Second

// Begin begins a transaction in the file of this path. A writer waits for its turn here and not in SQLite,
// whose own handler sleeps ever longer, up to a tenth of a second: whoever has waited long then looks seldom,
// and among desks that write at full speed it is passed over for seconds. Everyone looking about once a
// millisecond, all have the same chance however long they have waited. Nobody is sent away while whoever
// writes gets on, as a long import does for a minute and more.
func Begin(ctx context.Context, conn *sql.Conn, path, begin string) error {
	if begin != Writing {
		_, err := conn.ExecContext(ctx, begin)
		return err
	}
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err != nil {
		return err
	}
	defer conn.ExecContext(context.WithoutCancel(ctx),
		fmt.Sprintf("PRAGMA busy_timeout = %d", Busy.Milliseconds()))
	waited := patience{since: time.Now()}
	log := func() int64 { return sizeOf(path + "-wal") }
	for {
		_, err := conn.ExecContext(ctx, begin)
		var e sqlite3.Error
		if !errors.As(err, &e) || e.Code != sqlite3.ErrBusy || waited.over(time.Now(), log) {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Millisecond/2 + rand.N(time.Millisecond)):
		}
	}
}

// patience is how long a writer has waited without seeing the one before it get on.
type patience struct {
	since, looked time.Time
	size          int64
}

// over says that it is at an end. The log is looked at once a second: whoever writes much makes it longer.
func (p *patience) over(now time.Time, size func() int64) bool {
	if now.Sub(p.looked) >= time.Second {
		p.looked = now
		if size := size(); size != p.size {
			p.size, p.since = size, now
		}
	}
	return now.Sub(p.since) > Busy
}

// sizeOf is how much was written to the log that is not in the file yet.
func sizeOf(log string) int64 {
	info, err := os.Stat(log)
	if err != nil {
		return 0
	}
	return info.Size()
}
