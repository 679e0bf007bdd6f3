package sqlite

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
)

// Key is the key by which the house signs what it hands over; it is made when it is first asked for. It
// stands in the registry, so it is in backups, and comes back with them.
func (db *DB) Key(ctx context.Context) (ed25519.PrivateKey, error) {
	var text string
	err := db.sql.QueryRowContext(ctx, "SELECT value FROM identity WHERE name = 'key'").Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		seed := make([]byte, ed25519.SeedSize)
		if _, err := rand.Read(seed); err != nil {
			return nil, err
		}
		if _, err = db.sql.ExecContext(ctx, "INSERT INTO identity VALUES ('key', ?) ON CONFLICT DO NOTHING",
			hex.EncodeToString(seed)); err != nil {
			return nil, db.explain(err)
		}
		err = db.sql.QueryRowContext(ctx, "SELECT value FROM identity WHERE name = 'key'").Scan(&text)
	}
	if err != nil {
		return nil, db.explain(err)
	}
	seed, err := hex.DecodeString(text)
	if err != nil || len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("the house's key is damaged")
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// trusts begins the names under which the keys of other houses are kept.
const trusts = "house of "

// Trust keeps another house's key under its name.
func (db *DB) Trust(ctx context.Context, key, name string) error {
	_, err := db.sql.ExecContext(ctx,
		"INSERT INTO identity VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value", trusts+
			key, name)
	return db.explain(err)
}

// Trusted is the name of the house whose key this is; empty when it is not known.
func (db *DB) Trusted(ctx context.Context, key string) (name string, err error) {
	err = db.sql.QueryRowContext(ctx, "SELECT value FROM identity WHERE name = ?", trusts+key).Scan(&name)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return name, db.explain(err)
}
