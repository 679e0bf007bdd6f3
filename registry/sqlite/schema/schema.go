// Package schema is what the tables, indexes and triggers of a registry's file are: the steps that make them,
// and a sum by which a file knows that nobody else changed them.
package schema

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"sync"

	"github.com/mattn/go-sqlite3"
)

// Steps are the files of the folder migrations, in the order in which they run; a file that has run never
// changes again.
func Steps() ([]string, error) { return fs.Glob(migrations, "migrations/*.sql") }

// Script is the text of a step.
func Script(step string) (string, error) {
	text, err := fs.ReadFile(migrations, step)
	return string(text), err
}

//go:embed migrations/*.sql
var migrations embed.FS

// Part is an object of the schema: a table, index or trigger, and the table that it is of.
type Part struct{ Kind, Name, Of, Text string }

// Objects asks for the parts of a schema, and of those that SQLite keeps for itself for the indexes. SQLite
// takes bytes for a text there, so they are told apart.
const Objects = `SELECT iif(typeof(type) = 'blob', quote(type), type),
	iif(typeof(name) = 'blob', quote(name), name),
	iif(typeof(tbl_name) = 'blob', quote(tbl_name), tbl_name),
	iif(typeof(sql) = 'blob', quote(sql), coalesce(sql, '')) FROM sqlite_schema
	WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\' OR type = 'index' ORDER BY type, name`

// Rows are what Objects is answered with.
type Rows interface {
	Next() bool
	Scan(dest ...any) error
	Err() error
	Close() error
}

// Read reads the parts, and closes the rows.
func Read(rows Rows) (parts []Part, err error) {
	defer rows.Close()
	for rows.Next() {
		var p Part
		if err := rows.Scan(&p.Kind, &p.Name, &p.Of, &p.Text); err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	return parts, rows.Err()
}

// Of reads the schema of an open file.
func Of(ctx context.Context, on interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
}) ([]Part, error) {
	rows, err := on.QueryContext(ctx, Objects)
	if err != nil {
		return nil, err
	}
	return Read(rows)
}

// Fingerprint is the sum of a schema.
func Fingerprint(parts []Part) string {
	sum := sha256.New()
	var text []byte
	for _, p := range parts {
		if strings.HasPrefix(p.Name, "sqlite_") {
			continue
		}
		text = append(appendQuoted(text[:0], p.Kind), ' ')
		text = append(appendQuoted(text, p.Name), ' ')
		text = append(appendQuoted(text, p.Text), '\n')
		sum.Write(text)
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// appendQuoted is strconv.AppendQuote, which asks of each character whether it can be printed: each opening
// of a house takes the sum, and what stands in a schema is plain.
func appendQuoted(to []byte, s string) []byte {
	begin := len(to)
	to = append(to, '"')
	for i := range len(s) {
		switch c := s[i]; {
		case c == '"' || c == '\\':
			to = append(to, '\\', c)
		case c == '\n':
			to = append(to, `\n`...)
		case c == '\t':
			to = append(to, `\t`...)
		case c < ' ' || c > '~':
			return strconv.AppendQuote(to[:begin], s)
		default:
			to = append(to, c)
		}
	}
	return append(to, '"')
}

var madeBefore sync.Map // of []Part, by version; nobody changes them

// Made is the schema that this program makes by its first steps. It is the same each time, so it is made
// once.
func Made(version int) ([]Part, error) {
	if steps, err := Steps(); err != nil || version == len(steps) {
		made, failed := latest()
		return made.parts, errors.Join(err, failed)
	}
	if kept, ok := madeBefore.Load(version); ok {
		return kept.([]Part), nil
	}
	parts, err := makeSchema(version)
	if err == nil {
		madeBefore.Store(version, parts)
	}
	return parts, err
}

func makeSchema(version int) ([]Part, error) {
	blank, err := inMemory(version)
	if err != nil {
		return nil, err
	}
	defer blank.Close()
	return Of(context.Background(), blank)
}

// inMemory runs the first steps on a database that is no file.
func inMemory(version int) (*sql.DB, error) {
	blank, err := sql.Open("sqlite3", ":memory:")
	if err != nil {
		return nil, err
	}
	blank.SetMaxOpenConns(1) // each connection has a memory of its own
	steps, err := Steps()
	for _, step := range steps[:min(version, len(steps))] {
		var script string
		if script, err = Script(step); err == nil {
			_, err = blank.Exec(script)
		}
		if err != nil {
			break
		}
	}
	if err != nil {
		return nil, errors.Join(err, blank.Close())
	}
	return blank, nil
}

// NewHouse gives a file made from the image an id of its own.
const NewHouse = "UPDATE identity SET value = lower(hex(randomblob(16))) WHERE name = 'house'"

// Create makes a file of the image, readable by its owner alone. It never touches one that is there.
func Create(path string) error {
	made, err := latest()
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(made.image)
	return errors.Join(err, f.Sync(), f.Close())
}

// newest is a file after all steps, before anything is known of its house, and its schema.
type newest struct {
	image []byte
	parts []Part
}

// latest runs every step, once: whoever makes many houses, or makes one and checks it, does not do it for
// each.
var latest = sync.OnceValues(func() (made newest, err error) {
	steps, err := Steps()
	if err != nil {
		return made, err
	}
	blank, err := inMemory(len(steps))
	if err != nil {
		return made, err
	}
	defer blank.Close()
	if _, err := blank.Exec(fmt.Sprintf("PRAGMA user_version = %d", len(steps))); err != nil {
		return made, err
	}
	if made.parts, err = Of(context.Background(), blank); err != nil {
		return made, err
	}
	conn, err := blank.Conn(context.Background())
	if err != nil {
		return made, err
	}
	defer conn.Close()
	err = conn.Raw(func(driver any) error {
		made.image, err = driver.(*sqlite3.SQLiteConn).Serialize("main")
		return err
	})
	return made, err
})
