package house

import (
	"context"

	"pitman/registry/sqlite"
)

// trusts begins the names under which the keys of other houses are kept.
const trusts = "house of "

// Trust keeps another house's key under its name.
func Trust(ctx context.Context, db *sqlite.DB, key,
	name string) error {
	return db.Note(ctx, trusts+key, name)
}

// Trusted is the name of the house whose key this is; empty when it is not known.
func Trusted(ctx context.Context, db *sqlite.DB, key string) (string, error) {
	return db.Noted(ctx, trusts+key)
}
