package house

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/lists"
	"pitman/registry/neighbours"
	"pitman/registry/photo"
	"pitman/registry/pictures"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// Verify looks for everything that the rules of a house rule out.
func (h *House) Verify(ctx context.Context, db *sqlite.DB) ([]registry.Fault, error) {
	faults, err := verify(ctx, db, h.Dir, h.Config.House.Letters, h.Lists)
	if err != nil || len(faults) > 0 { // a damaged file is mended first
		return faults, err
	}
	broken, err := db.BrokenOff(ctx)
	if err != nil {
		return faults, err
	}
	if broken != nil {
		faults = append(faults, registry.Fault{Check: "turns", Subject: archive.DBFile,
			What: fmt.Sprintf("%s of %s by %s broke off, and what had come in by then stands there hidden",
				broken.Verb, broken.Why, broken.By),
			Mend: "see that its disk can be written and has room, and open the house: that takes it back"})
	}
	err = db.View(ctx, func(r stock.Reader) error {
		lapsed, err := h.Workshop(db).Outdated(r)
		for _, l := range lapsed {
			faults = append(faults, registry.Fault{Check: "safety", Subject: string(l.Tag), What: l.Why,
				Mend: "do not plug it in; open the house for work, which ends its pass, and have it tested"})
		}
		return err
	})
	return faults, err
}

// VerifyQuick looks for what a start of work should not go over, in a moment.
func (h *House) VerifyQuick(ctx context.Context, db *sqlite.DB) ([]registry.Fault, error) {
	return db.VerifyQuick(ctx)
}

// ListFaults names the lists of the house that cannot be read.
func (h *House) ListFaults() (faults []registry.Fault) {
	for _, err := range h.eachList() {
		faults = append(faults, registry.Fault{Check: "lists", Subject: lists.Folder, What: err.Error(),
			Mend: "correct the list, or move it out of the folder, which brings back the one that comes " +
				"with the program"})
	}
	return faults
}

// verify goes on without a list that cannot be read, and says so: what asks for it was not checked.
func verify(ctx context.Context, db *sqlite.DB, dir, letters string, known Lists) ([]registry.Fault, error) {
	needed, broken := known.Stock.BaseParts()
	faults, err := db.Verify(ctx, letters, needed)
	if broken != nil {
		faults = append(faults,
			registry.Fault{Check: "lists", Subject: "lists/base-parts.csv", What: "cannot be read: " +
				broken.Error(),
				Mend: "correct the list, then check again: bases were not checked for their parts"})
	}
	if err != nil {
		return faults, err
	}
	kept, err := neighbours.Faults(dir)
	if err != nil {
		return faults, err
	}
	shown, err := verifyPhotos(ctx, db, photo.In(dir))
	return slices.Concat(faults, kept, shown), err
}

// verifyPhotos looks for pictures that are damaged, missing, or there although they were erased. One that
// another house took may be missing: a bundle brings pictures only when asked.
func verifyPhotos(ctx context.Context, db *sqlite.DB, store photo.Store) (faults []registry.Fault,
	err error) {
	fault := func(name, what, mend string) {
		faults = append(faults,
			registry.Fault{Check: "photos", Subject: photo.Folder + "/" + photo.FileName(name), What: what,
				Mend: mend})
	}
	wanted, err := db.PhotoNames(ctx, pictures.Erased)
	if err != nil {
		return nil, err
	}
	there, err := store.Names()
	if err != nil {
		return nil, err
	}
	for _, name := range there {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		switch w, known := wanted[name]; {
		case known && w.Erased:
			fault(name, "was erased for good, and is there still", "delete the file")
		case store.Check(name) != nil:
			fault(name, "is damaged", "take that file out of a backup, or take the picture anew and add it")
		}
	}
	for _, name := range slices.Sorted(maps.Keys(wanted)) {
		if w := wanted[name]; !w.Erased && !w.Undone && w.OwnHouse && !slices.Contains(there, name) {
			fault(name, "is missing, and shows "+w.Tag,
				"take that file out of a backup, or take the picture anew, add it, and erase this one")
		}
	}
	return faults, nil
}
