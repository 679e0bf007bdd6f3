package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"pitman/registry"
	"pitman/registry/chain"
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
	err = db.sql.QueryRowContext(ctx,
		"SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = 'link')").Scan(&chained)
	if err != nil || !chained {
		return h, db.explain(err)
	}
	err = db.sql.QueryRowContext(ctx,
		`SELECT (SELECT value FROM identity WHERE name = 'house'), id, sum FROM link ORDER BY id DESC
			LIMIT 1`).
		Scan(&h.House, &h.Links, &h.Sum)
	return h, db.explain(err)
}

// Descends says whether the chain has come through this head, so that nothing was lost or rewritten since.
func (db *DB) Descends(ctx context.Context, from chain.Head) (same bool, err error) {
	err = db.sql.QueryRowContext(ctx,
		`SELECT EXISTS (SELECT 1 FROM identity WHERE name = 'house' AND value = ?) AND
		EXISTS (SELECT 1 FROM link WHERE id = ? AND sum = ?)`, from.House, from.Links, from.Sum).Scan(&same)
	return same, db.explain(err)
}

// Branch notes in the chain that the house was restored: from here on it is another history than the one that
// it came from.
func (db *DB) Branch(ctx context.Context, at time.Time) error { return db.branch(ctx, "restored", at) }

func (db *DB) branch(ctx context.Context, why string, at time.Time) error {
	return db.within(ctx, forWriting, func(r *reader) error {
		s, err := r.prepare("SELECT lower (hex (randomblob (8)))")
		if err != nil {
			return err
		}
		var branch string
		if err := s.QueryRowContext(ctx).Scan(&branch); err != nil {
			return err
		}
		return r.appendLink(why + " " + at.UTC().Format(stamp) + " " + branch)
	})
}

// decided begins the note of a link that vouches for what house.toml said.
const decided = "house.toml "

func noteOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return decided + hex.EncodeToString(sum[:])
}

// Remember keeps what house.toml says, if it is not what it said last.
func (db *DB) Remember(ctx context.Context, at time.Time, text string) error {
	if last, err := db.Remembered(ctx); err != nil || last == text {
		return err
	}
	return db.within(ctx, forWriting, func(r *reader) error {
		if _, err := r.exec("INSERT INTO decisions (at, text) VALUES (?, ?)", at.UTC().Format(stamp),
			text); err != nil {
			return err
		}
		return r.appendLink(noteOf(text))
	})
}

// Remembered is what house.toml said last; empty when nobody has opened the house since it remembers.
func (db *DB) Remembered(ctx context.Context) (text string, err error) {
	err = db.sql.QueryRowContext(ctx, "SELECT text FROM decisions ORDER BY id DESC LIMIT 1").Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return text, db.explain(err)
}

// part is an object of the schema: a table, index or trigger.
type part struct{ kind, name, of, text string }

// schemaOf reads the objects of a schema, and of those that SQLite keeps for itself the indexes.
func schemaOf(ctx context.Context, on interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
}) (parts []part, err error) {
	rows, err := on.QueryContext(ctx,
		`SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\'
		OR type = 'index' ORDER BY type, name`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var p part
		if err := rows.Scan(&p.kind, &p.name, &p.of, &p.text); err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	return parts, rows.Err()
}

// fingerprint is the sum of a schema.
func fingerprint(parts []part) string {
	sum := sha256.New()
	for _, p := range parts {
		if strings.HasPrefix(p.name, "sqlite_") {
			continue
		}
		fmt.Fprintf(sum, "%q %q %q\n", p.kind, p.name, p.text)
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// identify is the end of a schema step: the one that brings the chain begins it with the house's id.
func (db *DB) identify(ctx context.Context, conn *sql.Conn, steps []string, at int) error {
	first := slices.IndexFunc(steps, func(s string) bool { return strings.HasSuffix(s, identityStep) })
	if at != first {
		return nil
	}
	r := &reader{ctx: ctx, conn: conn, statements: map[string]*statement{}}
	defer r.close()
	var house string
	if err := conn.QueryRowContext(ctx,
		"SELECT value FROM identity WHERE name = 'house'").Scan(&house); err != nil {
		return err
	}
	return r.appendLink("house " + house)
}

func keepFingerprint(ctx context.Context, conn *sql.Conn) error {
	parts, err := schemaOf(ctx, conn)
	if err != nil {
		return err
	}
	_, err = conn.ExecContext(ctx,
		"INSERT INTO identity VALUES ('schema', ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
		fingerprint(parts))
	return err
}

// CheckSchema refuses a file whose tables, indexes or triggers are not as pitman left them.
func (db *DB) CheckSchema(ctx context.Context) error {
	parts, err := schemaOf(ctx, db.sql)
	if err != nil {
		return db.explain(err)
	}
	var kept string
	err = db.sql.QueryRowContext(ctx, "SELECT value FROM identity WHERE name = 'schema'").Scan(&kept)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return db.explain(err)
	}
	if kept != fingerprint(parts) {
		return registry.Errorf(registry.Conflict,
			"the tables, indexes or triggers of %s are not as this program made them: another program "+
				"changed the file; check it, and put the latest backup in its place", filepath.Base(db.path)).
			Then(registry.Next(registry.DoVerify, ""), wayBack)
	}
	return nil
}

// made is the schema that this program makes by its first steps. It is the same each time, so it is made
// once.
func made(ctx context.Context, version int) ([]part, error) {
	if kept, ok := madeBefore.Load(version); ok {
		return kept.([]part), nil
	}
	parts, err := makeSchema(ctx, version)
	if err == nil {
		madeBefore.Store(version, parts)
	}
	return parts, err
}

var madeBefore sync.Map // of []part, by version; nobody changes them

func makeSchema(ctx context.Context, version int) ([]part, error) {
	blank, err := sql.Open("sqlite3", ":memory:")
	if err != nil {
		return nil, err
	}
	defer blank.Close()
	blank.SetMaxOpenConns(1) // each connection has a memory of its own
	steps, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return nil, err
	}
	for _, step := range steps[:min(version, len(steps))] {
		script, err := fs.ReadFile(migrations, step)
		if err != nil {
			return nil, err
		}
		if _, err := blank.ExecContext(ctx, string(script)); err != nil {
			return nil, err
		}
	}
	return schemaOf(ctx, blank)
}

// schema compares tables, indexes and triggers with those that this program makes.
func (v *verification) schema() error {
	var version int
	if err := v.conn.QueryRowContext(v.ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	want, err := made(v.ctx, version)
	if err != nil {
		return err
	}
	have, err := schemaOf(v.ctx, v.conn)
	if err != nil {
		return err
	}
	if kept, err := v.strings("SELECT value FROM identity WHERE name = 'schema'"); err == nil &&
		len(kept) == 1 &&
		kept[0] != fingerprint(have) {
		v.fault("pitman.db", mendRestore, "its schema is not the one whose sum it keeps")
	}
	texts := map[[2]string]part{}
	for _, p := range have {
		texts[[2]string{p.kind, p.name}] = p
	}
	for _, p := range want {
		key := [2]string{p.kind, p.name}
		found, there := texts[key]
		delete(texts, key)
		switch {
		case !there:
			v.fault(p.name, mendRestore, "the %s is gone from the registry's file", p.kind)
		case found != p:
			v.fault(p.name, mendRestore, "the %s is not as this program makes it", p.kind)
		}
	}
	for key := range texts {
		v.fault(key[1], mendRestore, "the %s is none of this program's: somebody else put it there", key[0])
	}
	return nil
}
