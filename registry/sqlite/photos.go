package sqlite

import (
	"context"

	"pitman/registry/sqlite/turn"
)

// PhotoUse is what the registry knows of a stored picture.
type PhotoUse struct {
	Tag      string // one of the units that it shows
	Erased   bool   // it was taken out of the house for good, and not added again since
	OwnHouse bool   // it was taken here
	Undone   bool   // it was noted and that was undone: its file waits for the undoing to be undone
}

// PhotoNames lists the stored pictures that the registry speaks of; erased is how their records say that they
// are gone for good.
func (db *DB) PhotoNames(ctx context.Context, erased string) (names map[string]PhotoUse, err error) {
	names = map[string]PhotoUse{}
	err = db.within(ctx, turn.Reading, func(r *reader) error {
		tables, err := r.query("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'photo'")
		if err != nil {
			return err
		}
		there := tables.Next()
		if err := tables.Close(); err != nil || !there {
			return err // an older registry, as it lies in a backup
		}
		// A picture is of this house when the action that noted it was done here. A record that shows it
		// counts before all others, and of the rest the last does: what counts comes last.
		rows, err := r.query("SELECT name, tag, struck, gone = ?, EXISTS (SELECT 1 FROM change JOIN action "+
			"ON action.id = change.action WHERE change.kind = 'photo' AND change.ref = photo.id AND "+
			"action.origin = '') FROM photo ORDER BY struck = 0 AND gone <> ?, id", erased, erased)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			var use PhotoUse
			if err := rows.Scan(&name, &use.Tag, &use.Undone, &use.Erased, &use.OwnHouse); err != nil {
				return err
			}
			had := names[name]
			use.OwnHouse = use.OwnHouse || had.OwnHouse && !had.Erased && !had.Undone
			names[name] = use
		}
		return rows.Err()
	})
	return names, err
}
