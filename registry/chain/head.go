package chain

// Head is how far the history of a house has come: so many links, and the sum of the last one. Whoever has
// written it down elsewhere can tell that no older and no other history took its place.
type Head struct {
	House string `json:"house_id"`
	Links int64  `json:"links"`
	Sum   string `json:"head"`
}

// Short is the head as people read it out and compare it.
func (h Head) Short() string { return h.Sum[:min(len(h.Sum), 16)] }
