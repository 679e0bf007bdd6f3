package chain

import (
	"crypto/sha256"
	"encoding/hex"
)

// Head is how far the history of a house has come: so many links, and the sum of the last one. Whoever has
// written it down elsewhere can tell that no older and no other history took its place.
type Head struct {
	House string `json:"house_id"`
	Links int64  `json:"links"`
	Sum   string `json:"head"`
}

// Short is the head as people read it out and compare it.
func (h Head) Short() string { return h.Sum[:min(len(h.Sum), 16)] }

// Tells says whether a head from elsewhere has the form of one: an id, links, and a sum.
func (h Head) Tells() bool {
	id, err := hex.DecodeString(h.House)
	sum, wrong := hex.DecodeString(h.Sum)
	return err == nil && wrong == nil && len(id) == 16 && len(sum) == sha256.Size && h.Links > 0
}
