package sqlite

import (
	"context"
	"slices"
	"strings"
)

const mendTexts = "make a backup and restore it: pitman backup FILE, then pitman restore FILE --house NEW, which makes the index of texts anew"

// mostSampled is how many machines, spread over the house, are looked up by every text of theirs.
const mostSampled = 500

// texts looks for machines that a search would miss.
func (v *verification) texts() error {
	lost, err := v.unfindable()
	for _, tag := range lost {
		v.fault(tag, mendTexts, "a search would miss it: the index of texts leaves it out, or a part of it")
	}
	return err
}

// unfindable lists machines that the index of texts does not name for what they hold. Every machine is looked up by the beginning of
// its tag, which came into the index together with the rest of it; some are looked up by all that stands in them.
func (r *reader) unfindable() (lost []string, err error) {
	begins, err := r.strings("SELECT DISTINCT substr(tag, 1, ?) FROM machine", gram)
	if err != nil {
		return nil, err
	}
	for _, begin := range begins {
		missing, err := r.strings(`SELECT tag FROM machine WHERE substr(tag, 1, ?) = ?
			AND id NOT IN (SELECT docid FROM machine_text WHERE grams MATCH ?) ORDER BY id`, gram, begin, grams(begin))
		if err != nil {
			return nil, err
		}
		lost = append(lost, missing...)
	}
	sample := "SELECT id, tag, " + whole + " FROM machine WHERE id % (SELECT 1 + max(id) / ? FROM machine) = 0"
	err = r.eachText(sample, []any{mostSampled}, func(id int64, tag, text string) error {
		for words := range slices.Chunk(strings.Fields(grams(strings.Split(text, "\n")...)), mostGrams) {
			found, err := r.strings("SELECT '' FROM machine_text WHERE docid = ? AND grams MATCH ?", id, strings.Join(words, " "))
			if err != nil {
				return err
			}
			if len(found) == 0 && !slices.Contains(lost, tag) {
				lost = append(lost, tag)
			}
		}
		return nil
	})
	return lost, err
}

// whole is all of a machine's text, line by line.
var whole = strings.Join(searched, " || char(10) || ")

func (r *reader) eachText(text string, args []any, fn func(id int64, tag, text string) error) error {
	rows, err := r.query(text, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var tag, text string
		if err := rows.Scan(&id, &tag, &text); err != nil {
			return err
		}
		if err := fn(id, tag, text); err != nil {
			return err
		}
	}
	return rows.Err()
}

// MendTexts makes the index of texts anew if a search would miss a machine.
func (db *DB) MendTexts(ctx context.Context) error {
	return db.within(ctx, forWriting, func(r *reader) error {
		lost, err := r.unfindable()
		if err != nil || len(lost) == 0 {
			return err
		}
		made, err := r.strings("SELECT sql FROM sqlite_schema WHERE name = 'machine_text'")
		if err != nil {
			return err
		}
		for _, text := range []string{"DROP TABLE machine_text", made[0], "INSERT INTO machine_text (machine_text) VALUES ('automerge=8')"} {
			if _, err := r.conn.ExecContext(ctx, text); err != nil {
				return err
			}
		}
		return r.eachText("SELECT id, tag, "+whole+" FROM machine", nil, func(id int64, _, text string) error {
			_, err := r.exec("INSERT INTO machine_text (docid, grams) VALUES (?, ?)", id, grams(text))
			return err
		})
	})
}
