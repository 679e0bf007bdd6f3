package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/schema"
	"pitman/registry/sqlite/statement"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
)

// applicationID stands in the head of each registry file since the step that gave houses an identity.
const (
	applicationID = 1346982989
	identityStep  = "_identity.sql"
)

// wayBack is what to do about a file that is not the registry that stood there.
var wayBack = registry.Next(registry.DoRestore, "")

// known refuses a file that is no registry, before anything in it is changed.
func (db *DB) known(ctx context.Context, conn *sql.Conn, steps []string) error {
	var version, program, tables int
	err := conn.QueryRowContext(ctx,
		`SELECT (SELECT user_version FROM pragma_user_version), (SELECT application_id
			FROM pragma_application_id),
		(SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name IN ('action', 'change', 'machine',
		'person'))`).Scan(&version, &program, &tables)
	if err != nil {
		return err
	}
	name := filepath.Base(db.path)
	step := slices.IndexFunc(steps, func(s string) bool { return strings.HasSuffix(s, identityStep) })
	switch {
	case version == 0 && program == 0 && tables == 0:
		return registry.Errorf(registry.Conflict,
			"%s is empty, or is no registry: put the latest backup in its place; nothing was changed", name).
			Then(wayBack)
	case version > step && program != applicationID, tables < 4:
		return registry.Errorf(registry.Conflict,
			"%s is a file of another program, and no registry: put the latest backup in its place; "+
				"nothing was changed", name).Then(wayBack)
	}
	return nil
}

// Head is the end of the chain, and of which house; a file of before has none.
func (db *DB) Head(ctx context.Context) (h chain.Head, err error) {
	var chained bool
	err = db.conns.Row(ctx, "SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = 'link')", nil, &chained)
	if err != nil || !chained {
		return h, db.explain(err)
	}
	err = db.conns.Row(ctx, "SELECT (SELECT value FROM identity WHERE name = 'house'), id, sum FROM link "+
		"ORDER BY id DESC LIMIT 1", nil, &h.House, &h.Links, &h.Sum)
	return h, db.explain(err)
}

// Descends says whether the chain has come through this head, so that nothing was lost or rewritten since.
func (db *DB) Descends(ctx context.Context, from chain.Head) (same bool, err error) {
	err = db.conns.Row(ctx,
		`SELECT EXISTS (SELECT 1 FROM identity WHERE name = 'house' AND value = ?) AND
		EXISTS (SELECT 1 FROM link WHERE id = ? AND sum = ?)`, []any{from.House, from.Links, from.Sum}, &same)
	return same, db.explain(err)
}

// Branch notes in the chain that the house was restored: from here on it is another history than the one that
// it came from.
func (db *DB) Branch(ctx context.Context, at time.Time) error { return db.branch(ctx, "restored", at) }

func (db *DB) branch(ctx context.Context, why string, at time.Time) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		s, err := r.prepare("SELECT lower (hex (randomblob (8)))")
		if err != nil {
			return err
		}
		var branch string
		if err := s.QueryRowContext(ctx).Scan(&branch); err != nil {
			return err
		}
		return r.appendLink(why + " " + at.UTC().Format(mapping.Stamp) + " " + branch)
	})
}

// Remember keeps what house.toml says, if it is not what it said last.
func (db *DB) Remember(ctx context.Context, at time.Time, text string) error {
	if last, err := db.Remembered(ctx); err != nil || last == text {
		return err
	}
	return db.within(ctx, turn.Writing, func(r *reader) error {
		mark := chain.NewSalt()
		if _, err := r.exec("INSERT INTO decisions (at, text, mark) VALUES (?, ?, ?)",
			at.UTC().Format(mapping.Stamp), text, mark); err != nil {
			return err
		}
		return r.appendLink(verify.NoteOf(mark, text))
	})
}

// Remembered is what house.toml said last; empty when nobody has opened the house since it remembers.
func (db *DB) Remembered(ctx context.Context) (text string, err error) {
	return db.text(ctx, "SELECT text FROM decisions ORDER BY id DESC LIMIT 1")
}

// Noted is what was noted of this house under a name; empty when nothing was.
func (db *DB) Noted(ctx context.Context, name string) (value string, err error) {
	return db.text(ctx, "SELECT value FROM identity WHERE name = ?", name)
}

// text reads one text; empty when there is none.
func (db *DB) text(ctx context.Context, query string, args ...any) (text string, err error) {
	if err = db.conns.Row(ctx, query, args, &text); errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return text, db.explain(err)
}

// Note keeps it.
func (db *DB) Note(ctx context.Context, name, value string) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		return (&tx{reader: r}).KeepSecret(name, value)
	})
}

// identify is the end of a schema step: the one that brings the chain begins it with the house's id.
func (db *DB) identify(ctx context.Context, conn *sql.Conn, steps []string, at int) error {
	first := slices.IndexFunc(steps, func(s string) bool { return strings.HasSuffix(s, identityStep) })
	if at != first {
		return nil
	}
	return db.beginChain(ctx, conn)
}

func (db *DB) beginChain(ctx context.Context, conn *sql.Conn) error {
	r := &reader{ctx: ctx, conn: statement.On(conn)}
	defer r.conn.Forget()
	var house string
	if err := conn.QueryRowContext(ctx,
		"SELECT value FROM identity WHERE name = 'house'").Scan(&house); err != nil {
		return err
	}
	return r.appendLink("house " + house)
}

func keepFingerprint(ctx context.Context, conn *sql.Conn) error {
	parts, err := schema.Of(ctx, conn)
	if err != nil {
		return err
	}
	_, err = conn.ExecContext(ctx,
		"INSERT INTO identity VALUES ('schema', ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
		schema.Fingerprint(parts))
	return err
}

// CheckSchema refuses a file whose tables, indexes or triggers are not as pitman left them.
func (db *DB) CheckSchema(ctx context.Context) error {
	var parts []schema.Part
	err := db.conns.With(ctx, func(c *statement.Conn) (err error) {
		parts, err = schema.Of(ctx, c)
		return err
	})
	if err != nil {
		return db.explain(err)
	}
	kept, err := db.Noted(ctx, "schema")
	if err != nil {
		return err
	}
	if kept != schema.Fingerprint(parts) {
		return registry.Errorf(registry.Conflict,
			"the tables, indexes or triggers of %s are not as this program made them: another program "+
				"changed the file; check it, and put the latest backup in its place", filepath.Base(db.path)).
			Then(registry.Next(registry.DoVerify, ""), wayBack)
	}
	return nil
}
