package exchange

import (
	"crypto/ed25519"
	"encoding/hex"
	"io"

	"pitman/registry"
)

// signedAs stands before the sum under a signature, so that it is good for a bundle and nothing else.
const signedAs = "bundle of a house: "

// signer is whose signature stands under the sum; "" when there is none, and a refusal when it is false.
func (l *line) signer() (string, error) {
	if l.Key == "" && l.Signature == "" {
		return "", nil
	}
	key, err := registry.KeyOf(l.Key)
	signature, undecoded := hex.DecodeString(l.Signature)
	if err != nil || undecoded != nil || !ed25519.Verify(key, []byte(signedAs+l.Sum), signature) {
		return "", broken("has a false signature")
	}
	return hex.EncodeToString(key), nil
}

// SignerOf reads a bundle to its end and says whose signature it has; "" when nobody signed it.
func SignerOf(from io.Reader) (string, error) {
	r, err := ReadBundle(from)
	if err != nil {
		return "", err
	}
	for {
		if c, err := r.Next(); c == nil || err != nil {
			return r.Signer, err
		}
	}
}
