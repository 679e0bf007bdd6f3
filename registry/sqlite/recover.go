package sqlite

import (
	"context"
	"time"

	"pitman/registry/chain"
	"pitman/registry/sqlite/blank"
	"pitman/registry/sqlite/connection"
	"pitman/registry/sqlite/salvage"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
)

// Damaged opens a copy of a registry file that may be damaged, as far as SQLite can read it.
func Damaged(path string) (*DB, error) { return over(path, connection.Durable) }

// TakeProved does again what the other registry proves behind the end of this one's chain. It returns how far
// that came, and what the other one tells of beyond it. An empty registry becomes the other one's.
func (db *DB) TakeProved(ctx context.Context, from *DB) (end chain.Head, beyond []salvage.Unproved,
	err error) {
	err = db.within(ctx, turn.Writing, func(r *reader) error {
		return from.transaction(ctx, turn.Reading, func(other *reader) (err error) {
			beyond, err = salvage.Take(source{r}, source{other})
			return err
		})
	})
	if err != nil {
		return end, []salvage.Unproved{}, err
	}
	end, err = db.Head(ctx)
	return end, beyond, err
}

// ForgottenBeyond names whose texts the other registry tells that it forgot, and this one has still.
func (db *DB) ForgottenBeyond(ctx context.Context, from *DB) (subjects []string, err error) {
	var theirs *verify.Forgotten
	err = from.transaction(ctx, turn.Reading, func(r *reader) (err error) {
		theirs, err = verify.ReadForgotten(source{r})
		return err
	})
	if err != nil || theirs == nil {
		return nil, salvage.Ended(err)
	}
	err = db.transaction(ctx, turn.Reading, func(r *reader) error {
		subjects, err = blank.Missed(source{r}, theirs)
		return err
	})
	return subjects, err
}

// TakeKeys takes over the house's key and the keys that it trusts, from a registry that may be damaged. No
// chain vouches for them.
func (db *DB) TakeKeys(ctx context.Context, from *DB) error {
	rows, err := from.sql.QueryContext(ctx,
		"SELECT name, value FROM identity WHERE name NOT IN ('house', 'schema')")
	if err != nil {
		return salvage.Ended(err)
	}
	defer rows.Close()
	for rows.Next() {
		var name, value string
		if rows.Scan(&name, &value) != nil {
			return nil
		}
		if _, err := db.sql.ExecContext(ctx, "INSERT INTO identity VALUES (?, ?) ON CONFLICT DO NOTHING",
			name, value); err != nil {
			return db.explain(err)
		}
	}
	return salvage.Ended(rows.Err())
}

// CountersAbove makes the counters at least as high as what the records have.
func (db *DB) CountersAbove(ctx context.Context) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		for _, raise := range verify.RaiseCounters() {
			if _, err := r.exec(raise); err != nil {
				return err
			}
		}
		return nil
	})
}

// Mended notes in the chain that the registry was put together anew.
func (db *DB) Mended(ctx context.Context, at time.Time) error { return db.branch(ctx, "repaired", at) }
