package sqlite

import (
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// leftOut are the checks that cannot tell anything of a transaction that is not committed: those of the
// file's pages and of the chain, which gets its link last, and of the index of texts, which holds nothing of
// its own.
var leftOut = []string{"file", "chain", "texts"}

// Faults looks for whatever the rules of a registry rule out, as this transaction would leave it. The history
// is replayed for these subjects alone: a transaction changes no other.
func (t *tx) Faults(letters string, needed []stock.BasePart, subjects []string) ([]registry.Fault, error) {
	v := &verification{reader: t.reader, letters: letters, needed: needed, found: map[string]int{},
		only: slices.Clone(subjects)}
	if v.only == nil {
		v.only = []string{}
	}
	err := v.all(func(name string) bool { return slices.Contains(leftOut, name) })
	return v.faults, err
}
