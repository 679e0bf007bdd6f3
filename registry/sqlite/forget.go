package sqlite

import (
	"context"
	"reflect"
	"slices"

	"pitman/registry"
	"pitman/registry/kinds"
	"pitman/registry/sqlite/blank"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/stock"
)

// Forget puts the texts out of the records, of their history and of the index of texts. What the records
// still say is told as a change, like any other.
func (t *tx) Forget(cut func(column, text string) (rest string, found bool)) (f stock.Forgotten, err error) {
	is := func(text string) bool { _, found := cut("", text); return found }
	found, err := blank.Find(source{t.reader}, is, kinds.Personal)
	if err != nil {
		return f, err
	}
	f = stock.Forgotten{Since: found.Since, Open: found.Open, Settings: found.Settings}
	type cutOut struct {
		kind, subject, column, rest string
		id                          int64
	}
	var texts []cutOut
	for _, fresh := range kinds.All {
		rec := fresh()
		v := reflect.ValueOf(rec).Elem()
		m := mapping.Of(v.Type())
		err := t.walk(v, "SELECT "+m.List+" FROM "+rec.Kind(), nil, func() error {
			for _, c := range m.Columns {
				field := c.In(v)
				if c.JSON || field.Kind() != reflect.String {
					continue
				}
				rest, is := cut(c.Name, field.String())
				if is && kinds.Personal(rec.Kind(), c.Name) {
					texts = append(texts,
						cutOut{rec.Kind(), rec.Subject(), c.Name, rest, registry.RowOf(rec).ID})
				}
			}
			return nil
		})
		if err != nil {
			return f, err
		}
	}
	for _, c := range found.Changes {
		f.Lines += len(c.Sides)
	}
	if f.Lines += len(found.Actions) + len(found.Decisions); f.Lines+len(texts) == 0 {
		return f, nil
	}
	last, err := t.lastLink()
	if err == nil {
		err = t.begin()
	}
	if err == nil {
		t.note, err = found.PutOut(source{t.reader}, last.ID+1)
	}
	if err != nil {
		return f, err
	}
	for _, c := range texts {
		if _, err := t.exec("UPDATE "+c.kind+" SET "+c.column+" = ? WHERE id = ?", c.rest, c.id); err != nil {
			return f, err
		}
		if c.rest != "" {
			if err := t.recordOf(c.kind, c.subject, c.id,
				[]mapping.Field{{Name: c.column, Was: "", Now: c.rest}}); err != nil {
				return f, err
			}
		}
		f.Records++
		if !slices.Contains(f.Subjects, c.subject) {
			f.Subjects = append(f.Subjects, c.subject)
		}
	}
	t.latest = row{}
	return f, blank.Texts(source{t.reader})
}

// Scrub clears the file of what was put out of it.
func (db *DB) Scrub(ctx context.Context) error { return db.explain(blank.Scrub(ctx, db.sql)) }
