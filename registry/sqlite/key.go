package sqlite

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/hex"
	"fmt"
)

// Key is the key by which the house signs what it hands over; it is made when it is first asked for. It
// stands in the registry, so it is in backups, and comes back with them.
func (db *DB) Key(ctx context.Context) (ed25519.PrivateKey, error) {
	text, err := db.Noted(ctx, "key")
	if err == nil && text == "" {
		seed := make([]byte, ed25519.SeedSize)
		if _, err := rand.Read(seed); err != nil {
			return nil, err
		}
		if _, err = db.sql.ExecContext(ctx, "INSERT INTO identity VALUES ('key', ?) ON CONFLICT DO NOTHING",
			hex.EncodeToString(seed)); err != nil {
			return nil, db.explain(err)
		}
		text, err = db.Noted(ctx, "key")
	}
	if err != nil {
		return nil, err
	}
	seed, err := hex.DecodeString(text)
	if err != nil || len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("the house's key is damaged")
	}
	return ed25519.NewKeyFromSeed(seed), nil
}
