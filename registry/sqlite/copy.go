package sqlite

import (
	"context"
	"os"
	"path/filepath"

	"pitman/registry"
	"pitman/registry/sqlite/refusal"
	"pitman/registry/sqlite/statement"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
)

// CopyTo writes a compact copy of the registry, as it stands at one moment, to a new file that its owner
// alone can read. Others go on reading and writing meanwhile.
func (db *DB) CopyTo(ctx context.Context, path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	err = db.conns.With(ctx, func(c *statement.Conn) error {
		_, err := c.ExecContext(ctx, "VACUUM INTO ?", path)
		return err
	})
	return refusal.Explain(err, filepath.Base(path))
}

// Summary is what a registry holds, in figures.
type Summary struct {
	Schema     int   `json:"schema"`      // steps of the schema that have run
	Actions    int64 `json:"actions"`     // what people did
	Machines   int64 `json:"machines"`    // heads, struck ones too
	LastNumber int64 `json:"last_number"` // the highest number that a tag was given
	LastOrder  int64 `json:"last_order"`  // and an order
}

// Summary reads the figures.
func (db *DB) Summary(ctx context.Context) (s Summary, err error) {
	err = db.conns.Row(ctx,
		`SELECT (SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM action),
		(SELECT count(*) FROM machine), coalesce((SELECT value FROM counter WHERE name = 'tag'), 0),
		coalesce((SELECT value FROM counter WHERE name = 'order'), 0)`, nil, &s.Schema,
		&s.Actions, &s.Machines, &s.LastNumber, &s.LastOrder)
	return s, db.explain(err)
}

// Numbers are the last ones that were given, each of its kind.
type Numbers struct {
	Tag, Order, Spare, Action int64
	// Further is how far every other counter goes on.
	Further int64
}

// LastGiven reads the numbers. Where a counter may be behind, what is there counts; of the tags,
// HighestNumber knows.
func (db *DB) LastGiven(ctx context.Context) (n Numbers, err error) {
	err = db.conns.Row(ctx, `SELECT coalesce((SELECT value FROM counter WHERE name = 'tag'), 0),
		max(coalesce((SELECT value FROM counter WHERE name = 'order'), 0), (`+verify.OrderNumbers+`)),
		max(coalesce((SELECT value FROM counter WHERE name = 'action'), 0), coalesce((SELECT max(id)
		FROM action), 0)),
		coalesce((SELECT max(seq) FROM sqlite_sequence WHERE name = 'spare'), 0)`, nil, &n.Tag,
		&n.Order, &n.Action, &n.Spare)
	return n, db.explain(err)
}

// SkipTo makes the next numbers higher than these. It never goes back.
func (db *DB) SkipTo(ctx context.Context, n Numbers) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		_, err := r.exec("INSERT INTO counter VALUES ('tag', ?), ('order', ?), ('action', ?) ON CONFLICT "+
			"(name) DO UPDATE SET value = max(value, excluded.value)",
			n.Tag, n.Order, n.Action)
		if err != nil {
			return err
		}
		if _, err := r.exec("UPDATE counter SET value = value + ? WHERE name NOT IN ('tag', 'order', "+
			"'action')",
			n.Further); err != nil {
			return err
		}
		// SQLite counts the parts, from the first one on.
		if _, err := r.exec("INSERT INTO sqlite_sequence (name, seq) SELECT 'spare', 0 WHERE 'spare' NOT " +
			"IN (SELECT name FROM sqlite_sequence)"); err != nil {
			return err
		}
		_, err = r.exec("UPDATE sqlite_sequence SET seq = max(seq, ?) WHERE name = 'spare'", n.Spare)
		return err
	})
}

// HighestNumber finds the highest number on a tag that begins with these letters, whatever the counter says.
func (db *DB) HighestNumber(ctx context.Context, letters string) (highest int64, err error) {
	err = db.within(ctx, turn.Reading, func(r *reader) error {
		return verify.EachTag(source{r}, func(_ string, _ int64, tag registry.Tag) {
			if own, n, ok := tag.Parts(); ok && own == letters {
				highest = max(highest, n)
			}
		})
	})
	return highest, err
}
