package sqlite

import (
	"context"
	"maps"
	"slices"
	"strings"
)

var mendTexts = remedy{"make a backup and restore it, which makes the index of texts anew", renew}

// maxSampled is how many machines, spread over the house, are looked up by every text of theirs.
const maxSampled = 500

// texts looks for machines that a search would miss.
func (v *verification) texts() error {
	lost, err := v.unfindable()
	for _, tag := range lost {
		v.fault(tag, mendTexts, "a search would miss it: the index of texts leaves it out, or a part of it")
	}
	return err
}

// unfindable lists machines that the index of texts does not name for what they hold. Every machine is looked
// up by the beginning of its tag, which came into the index together with the rest of it; some are looked up
// by all that stands in them.
func (r *reader) unfindable() (lost []string, err error) {
	begins, err := r.strings("SELECT DISTINCT substr(tag, 1, ?) FROM machine", gram)
	if err != nil {
		return nil, err
	}
	for _, begin := range begins {
		missing, err := r.strings(`SELECT tag FROM machine WHERE substr(tag, 1, ?) = ?
			AND id NOT IN (SELECT docid FROM machine_text WHERE grams MATCH ?) ORDER BY id`, gram, begin,
			grams(begin))
		if err != nil {
			return nil, err
		}
		lost = append(lost, missing...)
	}
	var every int64 // so manyeth machine is looked up by all its texts
	s, err := r.prepare("SELECT 1 + coalesce(max(id), 0) / ? FROM machine")
	if err != nil {
		return nil, err
	}
	if err := s.QueryRowContext(r.ctx, maxSampled).Scan(&every); err != nil {
		return nil, err
	}
	holders := map[string]map[int64]string{} // by gram: the machines it stands in, with their tags
	err = r.eachText("SELECT id, tag, "+whole+" FROM machine WHERE id % ? = 0", []any{every},
		func(id int64, tag, text string) error {
			for _, word := range strings.Fields(grams(strings.Split(text, "\n")...)) {
				if holders[word] == nil {
					holders[word] = map[int64]string{}
				}
				holders[word][id] = tag
			}
			return nil
		})
	if err != nil {
		return nil, err
	}
	// Gram by gram, each list of the index is read once; machine by machine, the long ones would be read for
	// each.
	missing := map[int64]string{}
	for word, unfound := range holders {
		if err := r.found(word, every, unfound); err != nil {
			return nil, err
		}
		maps.Copy(missing, unfound)
	}
	for _, id := range slices.Sorted(maps.Keys(missing)) {
		if !slices.Contains(lost, missing[id]) {
			lost = append(lost, missing[id])
		}
	}
	return lost, nil
}

// found takes those out that the index names for a gram.
func (r *reader) found(word string, every int64, unfound map[int64]string) error {
	rows, err := r.query("SELECT docid FROM machine_text WHERE grams MATCH ? AND docid % ? = 0", word, every)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return err
		}
		delete(unfound, id)
	}
	return rows.Err()
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
		for _, text := range []string{"DROP TABLE machine_text", made[0],
			"INSERT INTO machine_text (machine_text) VALUES ('automerge=8')"} {
			if _, err := r.conn.ExecContext(ctx, text); err != nil {
				return err
			}
		}
		return r.eachText("SELECT id, tag, "+whole+" FROM machine", nil,
			func(id int64, _, text string) error {
				_, err := r.exec("INSERT INTO machine_text (docid, grams) VALUES (?, ?)", id, grams(text))
				return err
			})
	})
}
