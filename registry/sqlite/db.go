// Package sqlite keeps the registry in one SQLite file. It is the only package that speaks SQL.
//
// Records map to tables by the `db` tags of their fields, so one piece of code loads, stores and compares
// every kind; what a Put changed is written to the history in the same transaction. Queries that are more
// than "the columns have these values" stand beside the mapping, a file for each concern.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"pitman/registry"
	"pitman/registry/sqlite/connection"
	"pitman/registry/sqlite/refusal"
	"pitman/registry/sqlite/schema"
	"pitman/registry/sqlite/statement"
	"pitman/registry/sqlite/turn"
	"pitman/registry/stock"
)

// DB is a registry in a SQLite file. It is safe for use by several goroutines, and by several processes.
type DB struct {
	sql   *sql.DB
	conns *statement.Pool // of it, for whatever is done often
	path  string

	readOnly bool
}

var _ stock.Store = (*DB)(nil)

// Create makes a new, empty registry file, readable by its owner alone. It never touches one that is there.
// The file is not whole until it returns: house.Init makes it elsewhere, and moves it to its place.
func Create(path string) error {
	if err := schema.Create(path); err != nil {
		return err
	}
	db, err := over(path, connection.Durable)
	if err != nil {
		return err
	}
	return errors.Join(db.begin(context.Background()), db.Close())
}

// begin gives a file that was just made the id of its house, and its chain the first link.
func (db *DB) begin(ctx context.Context) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		if _, err := r.exec(schema.NewHouse); err != nil {
			return err
		}
		if err := db.beginChain(ctx, r.conn.Conn); err != nil {
			return err
		}
		return keepFingerprint(ctx, r.conn.Conn)
	})
}

// BeforeUpgrade is called before the schema of a file that holds something is changed, while nobody else can
// write. If it fails, nothing is changed.
type BeforeUpgrade func(ctx context.Context, db *DB, schema int) error

// Open opens the registry file and brings its schema up to date. An empty file, and one of another program,
// is refused. On a medium that cannot be written the file is open for reading alone.
func Open(path string, before ...BeforeUpgrade) (*DB, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, err
	}
	db, err := over(path, connection.Durable)
	if err != nil {
		return nil, err
	}
	err = db.migrate(context.Background(), before)
	if err == nil {
		return db, nil
	}
	err = errors.Join(err, db.Close())
	if !errors.Is(err, refusal.ErrReadOnly) {
		return nil, err
	}
	return openReadOnly(path, err)
}

// openReadOnly opens a registry that nobody can write, as long as its form is the one that this program
// knows.
func openReadOnly(path string, cause error) (*DB, error) {
	if info, err := os.Stat(path + "-wal"); err == nil && info.Size() > 0 {
		return nil, cause // what was written last stands there, and cannot be put in order
	}
	db, err := Inspect(path)
	if err != nil {
		return nil, err
	}
	db.readOnly = true
	if err := db.migrate(context.Background(), nil); err != nil {
		return nil, errors.Join(cause, db.Close())
	}
	return db, nil
}

// ReadOnly says that the registry lies on a medium that cannot be written.
func (db *DB) ReadOnly() bool { return db.readOnly }

// Inspect opens a registry file that nobody else uses for reading alone: neither its schema nor any other
// byte changes.
func Inspect(path string) (*DB, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, err
	}
	return over(path, connection.Unchanged)
}

func over(path string, open func(path string) (*sql.DB, error)) (*DB, error) {
	pool, err := open(path)
	if err != nil {
		return nil, err
	}
	return &DB{sql: pool, conns: statement.NewPool(pool), path: path}, nil
}

// Close closes the file.
func (db *DB) Close() error { return errors.Join(db.conns.Close(), db.sql.Close()) }

// migrate runs the schema steps that the file lacks, all in one transaction; PRAGMA user_version counts the
// steps that have run.
func (db *DB) migrate(ctx context.Context, before []BeforeUpgrade) error {
	steps, err := schema.Steps()
	if err != nil {
		return err
	}
	conn, err := db.sql.Conn(ctx)
	if err != nil {
		return db.explain(err)
	}
	defer conn.Close()
	if err := db.known(ctx, conn, steps); err != nil {
		return db.explain(err)
	}
	version := func() (v int, err error) {
		err = conn.QueryRowContext(ctx, "PRAGMA user_version").Scan(&v)
		return v, err
	}
	for {
		have, err := version()
		if err != nil {
			return db.explain(err)
		}
		if have < 0 {
			return registry.Errorf(registry.Conflict,
				"%s is damaged or not a registry (schema %d): restore the latest backup",
				filepath.Base(db.path), have)
		}
		if have > len(steps) {
			return registry.Errorf(registry.Conflict,
				"%s was written by a newer pitman (schema %d; this one knows %d): install the newer "+
					"version, nothing was changed",
				filepath.Base(db.path), have, len(steps))
		}
		if have == len(steps) {
			return nil
		}
		err = db.transact(ctx, conn, turn.Writing, func() error {
			if now, err := version(); err != nil || now != have {
				return err // another process ran this step meanwhile
			}
			if have > 0 {
				for _, hook := range before {
					if err := hook(ctx, db, have); err != nil {
						return err
					}
				}
			}
			for at := have; at < len(steps); at++ {
				script, err := schema.Script(steps[at])
				if err != nil {
					return err
				}
				if _, err := conn.ExecContext(ctx, script); err != nil {
					return fmt.Errorf("%s: %w", steps[at], err)
				}
				if err := db.identify(ctx, conn, steps, at); err != nil {
					return err
				}
			}
			if err := keepFingerprint(ctx, conn); err != nil {
				return err
			}
			_, err = conn.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", len(steps)))
			return err
		})
		if err != nil {
			return db.explain(err)
		}
	}
}

// transact runs fn between begin and COMMIT. Once fn has succeeded the commit is not to be interrupted
// halfway.
func (db *DB) transact(ctx context.Context, conn *sql.Conn, begin string, fn func() error) error {
	if err := turn.Begin(ctx, conn, db.path, begin); err != nil {
		return err
	}
	settled := context.WithoutCancel(ctx)
	kept := false
	defer func() {
		if !kept { // fn may have panicked
			_, _ = conn.ExecContext(settled, "ROLLBACK") // SQLite may have rolled back by itself
		}
	}()
	if err := fn(); err != nil {
		return err
	}
	_, err := conn.ExecContext(settled, "COMMIT")
	kept = err == nil
	return err
}

// View runs fn on one unchanging state.
func (db *DB) View(ctx context.Context, fn func(stock.Reader) error) error {
	return db.within(ctx, turn.Reading, func(r *reader) error { return fn(r) })
}

// Plans are the steps in which SQLite goes through each text that was asked last, for whoever wonders what
// makes a question slow.
func (db *DB) Plans(ctx context.Context) (plans map[string][]string, err error) {
	err = db.conns.With(ctx, func(c *statement.Conn) (err error) {
		plans, err = c.Plans(ctx)
		return err
	})
	return plans, db.explain(err)
}

func (db *DB) within(ctx context.Context, begin string, fn func(*reader) error) error {
	return db.explain(db.transaction(ctx, begin, fn))
}

func (db *DB) transaction(ctx context.Context, begin string, fn func(*reader) error) error {
	return db.conns.With(ctx, func(c *statement.Conn) error {
		return db.transact(ctx, c.Conn, begin, func() error { return fn(&reader{ctx: ctx, conn: c}) })
	})
}

// explain says what to do about what kept SQLite from its work.
func (db *DB) explain(err error) error { return refusal.Explain(err, filepath.Base(db.path)) }
