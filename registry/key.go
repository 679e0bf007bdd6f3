package registry

import (
	"crypto/ed25519"
	"encoding/hex"
	"strings"
)

// KeyOf reads a house's public key as it is written out, in capitals as well.
func KeyOf(text string) (ed25519.PublicKey, error) {
	key, err := hex.DecodeString(strings.ToLower(text))
	if err != nil || len(key) != ed25519.PublicKeySize {
		return nil, Errorf(Invalid,
			"key %.80q is no key of a house: give the 64 digits and letters that the other house shows",
			text).On("key")
	}
	return key, nil
}
