package sqlite

import (
	"context"
	"slices"

	"pitman/registry/sqlite/blank"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/texts"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
)

// indexText adds what a change put into the searched columns. What it took out stays in the index, which only
// ever names machines that may hold a text.
func (t *tx) indexText(kind string, id int64, fields []mapping.Field) error {
	if kind != "machine" {
		return nil
	}
	var found []string
	for _, f := range fields {
		if text, ok := f.Now.(string); ok && slices.Contains(texts.Searched, f.Name) {
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
	return db.within(ctx, turn.Writing, func(r *reader) error {
		lost, err := verify.Unfindable(source{r})
		if err != nil || len(lost) == 0 {
			return err
		}
		return blank.Texts(source{r})
	})
}
