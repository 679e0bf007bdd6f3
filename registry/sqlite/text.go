package sqlite

import (
	"context"

	"pitman/registry/sqlite/texts"
	"pitman/registry/sqlite/verify"
)

// indexText adds what a change put into the searched columns. What it took out stays in the index, which only
// ever names machines that may hold a text.
func (t *tx) indexText(kind string, id int64, fields map[string][2]any) error {
	if kind != "machine" {
		return nil
	}
	var found []string
	for _, name := range texts.Searched {
		if text, ok := fields[name][1].(string); ok {
			found = append(found, text)
		}
	}
	words := texts.Grams(found...)
	if words == "" {
		return nil
	}
	return t.later("INSERT INTO machine_text (docid, grams) VALUES (?, ?)", id, words)
}

// MendTexts makes the index of texts anew if a search would miss a machine.
func (db *DB) MendTexts(ctx context.Context) error {
	return db.within(ctx, forWriting, func(r *reader) error {
		lost, err := verify.Unfindable(source{r})
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
		return verify.EachText(source{r}, "SELECT id, tag, "+texts.Whole+" FROM machine", nil,
			func(id int64, _, text string) error {
				_, err := r.exec("INSERT INTO machine_text (docid, grams) VALUES (?, ?)", id,
					texts.Grams(text))
				return err
			})
	})
}
