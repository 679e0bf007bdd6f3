package house

import (
	"context"

	"pitman/registry"
	"pitman/registry/sqlite"
)

// Verify looks for everything that the rules of a house rule out.
func (h *House) Verify(ctx context.Context, db *sqlite.DB) ([]registry.Fault, error) {
	return verify(ctx, db, h.Config.House.Letters, h.Lists)
}

// verify goes on without a list that cannot be read, and says so: what asks for it was not checked.
func verify(ctx context.Context, db *sqlite.DB, letters string, lists Lists) ([]registry.Fault, error) {
	needed, broken := lists.Stock.BaseParts()
	faults, err := db.Verify(ctx, letters, needed)
	if broken != nil {
		faults = append(faults, registry.Fault{Check: "lists", Subject: "lists/base-parts.csv", What: "cannot be read: " + broken.Error(),
			Mend: "correct the list, then check again: bases were not checked for their parts"})
	}
	return faults, err
}
