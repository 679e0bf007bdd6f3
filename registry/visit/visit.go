// Package visit reads what stands in another house out of a bundle or backup of it. The file is taken in by
// the same functions as ever, in a folder of its own that is thrown away, so that what is forged or damaged
// is refused as it always is, and nothing of it comes near this house's registry.
package visit

import (
	"bufio"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/neighbours"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/registry/whole"
)

// Read says what stands in the house that wrote a file, which is a bundle or a backup. ours is this house,
// and id that of its history.
func Read(ctx context.Context, file string, by registry.Initials, ours *house.House, id string,
	keys []age.Identity) (*neighbours.House, error) {
	work, err := os.MkdirTemp("", "pitman-visit-")
	if err != nil {
		return nil, err
	}
	read := backup
	if isBundle(file) {
		read = bundle
	}
	there, err := read(ctx, file, work, by, ours, keys)
	if err = errors.Join(err, whole.RemoveFolder(work)); err != nil {
		return nil, err
	}
	there.AddedAt, there.AddedBy = ours.Now().UTC(), by
	if there.Name, err = registry.CleanText("house", there.Name, registry.MaxName); err != nil {
		return nil, err
	}
	if there.To, err = registry.CleanText("to", there.To, registry.MaxName); err != nil {
		return nil, err
	}
	if there.Name == "" {
		there.Name = there.Letters
	}
	return there, check(there, ours, id)
}

// check refuses what cannot be the stock of a neighbour.
func check(there *neighbours.House, ours *house.House, id string) error {
	said := func(at time.Time) string {
		return at.In(ours.Config.House.Location()).Format("2006-01-02 15:04")
	}
	switch {
	case there.Letters == ours.Config.House.Letters, there.ID != "" && there.ID == id:
		return registry.Errorf(registry.Conflict,
			"the file is of %s (letters %s), which is this house: name one of another house", there.Name,
			there.Letters).On("file")
	case there.AsOf.After(ours.Now().Add(stock.ClockSlack)):
		return registry.Errorf(registry.Conflict,
			"the file says it is of %s, which is yet to come: look at the clock here, or ask for a new file",
			said(there.AsOf)).On("file")
	}
	kept, err := neighbours.Of(ours.Dir, there.Letters)
	drop := registry.Next(registry.DoDropHouse, "").With("letters", there.Letters)
	switch {
	case registry.CodeOf(err) == registry.NotFound:
		return nil
	case registry.CodeOf(err) == registry.Conflict:
		return nil // what cannot be read is replaced
	case err != nil:
		return err
	case kept.Name != there.Name || kept.ID != "" && there.ID != "" && kept.ID != there.ID:
		return registry.Errorf(registry.Conflict,
			"the letters %s are those of %s, whose stock is kept here, and this file is of %s: if it is in "+
				"the place of that, drop that first", there.Letters, kept.Name,
			there.Name).On("file").Then(drop)
	case there.Source == "backup" && there.ID != "" && kept.ID == there.ID:
		there.Key = kept.Key // nobody signs a backup; its history goes on
	case kept.Key != "" && kept.Key != there.Key:
		return registry.Errorf(registry.Conflict,
			"what is kept of %s was signed by the key %.16s, and this file was not: ask there, and drop what "+
				"is kept if it is right", kept.Name, kept.Key).On("file").Then(drop)
	}
	if there.AsOf.Before(kept.AsOf) {
		return registry.Errorf(registry.Conflict,
			"the file is of %s, and what is kept of %s is of %s, which is later: if "+
				"the older is right, drop the later first",
			said(there.AsOf), kept.Name, said(kept.AsOf)).On("file").Then(drop)
	}
	return nil
}

// isBundle looks at how a file begins: a bundle is JSON, a backup an archive.
func isBundle(file string) bool {
	f, err := os.Open(file)
	if err != nil {
		return false
	}
	defer f.Close()
	zip, err := gzip.NewReader(bufio.NewReader(f))
	if err != nil {
		return false
	}
	first := make([]byte, 1)
	_, err = io.ReadFull(zip, first)
	return err == nil && first[0] == '{'
}

// backup restores a backup, and reads what stands there.
func backup(ctx context.Context, file, work string, _ registry.Initials, _ *house.House,
	keys []age.Identity) (*neighbours.House, error) {
	dir := filepath.Join(work, "house")
	r, err := house.Restore(ctx, file, dir, "", keys...)
	if err != nil {
		return nil, err
	}
	if len(r.Faults) > 0 {
		return nil, registry.Errorf(registry.Conflict,
			"the backup has a fault (%s: %s): ask that house to mend it and for a new one",
			r.Faults[0].Subject,
			r.Faults[0].What).On("file")
	}
	h, err := house.Open(dir)
	if err != nil {
		return nil, err
	}
	db, err := h.Registry()
	if err != nil {
		return nil, err
	}
	head, err := db.Head(ctx)
	there := &neighbours.House{Letters: h.Config.House.Letters, Name: h.Config.House.Name, AsOf: r.At.UTC(),
		Source: "backup", ID: head.House}
	if err == nil {
		err = standing(ctx, db, there)
	}
	return there, errors.Join(err, db.Close())
}

// bundle takes a bundle over into a registry that is thrown away, and reads what stands there then.
func bundle(ctx context.Context, file, work string, by registry.Initials, ours *house.House,
	_ []age.Identity) (*neighbours.House, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	there, letters, err := lookThrough(f)
	if err != nil {
		return nil, err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	path := filepath.Join(work, "visit.db")
	if err := sqlite.Create(path); err != nil {
		return nil, err
	}
	db, err := sqlite.Open(path)
	if err != nil {
		return nil, err
	}
	config := ours.Config
	config.House.Letters = letters
	config.Safety.PassesFrom = nil
	if there.Key != "" { // what it brings counts as it does there: nothing of it is used here
		config.Safety.PassesFrom = []string{there.Key}
	}
	w := house.NewWorkshop(db, config, ours.Lists, ours.Tables, ours.Now)
	err = takeOver(ctx, w, by, f, there)
	if err == nil {
		err = standing(ctx, db, there)
	}
	return there, errors.Join(err, db.Close())
}

// lookThrough reads a bundle to its end, says what it tells of itself, and names letters that it does not
// know.
func lookThrough(from io.Reader) (there *neighbours.House, unknown string, err error) {
	in, err := exchange.ReadBundle(from)
	if err != nil {
		return nil, "", err
	}
	there = &neighbours.House{Letters: in.Head.Letters, Name: in.Head.House, To: in.Head.To,
		AsOf: in.Head.At.UTC(), Source: "bundle"}
	if in.Head.Chain != nil {
		there.ID = in.Head.Chain.House
	}
	known := map[string]bool{there.Letters: true}
	for {
		c, err := in.Next()
		if err != nil {
			return nil, "", err
		}
		if c == nil {
			break
		}
		letters, _, _ := registry.Tag(c.Subject).Parts()
		known[letters] = true
		for _, a := range c.Actions {
			letters, _, _ := strings.Cut(a.Origin, "/")
			known[letters] = true
			if a.At.After(there.AsOf.Add(stock.ClockSlack)) {
				return nil, "", registry.Errorf(registry.Invalid,
					"the bundle says it is of %s, and tells of %s on %s, which was later: ask for a new one",
					there.AsOf.Format(time.DateOnly), a.Verb, a.At.Format(time.DateOnly)).On("file")
			}
		}
	}
	there.Key = in.Signer
	for a := 'A'; a <= 'Z'; a++ {
		for b := 'A'; b <= 'Z'; b++ {
			if s := fmt.Sprintf("Z%c%cZ", a, b); !known[s] {
				return there, s, nil
			}
		}
	}
	return nil, "",
		registry.Errorf(registry.Invalid, "the bundle names more houses than there are: ask for a new one")
}

func takeOver(ctx context.Context, w *house.Workshop, by registry.Initials, from io.Reader,
	there *neighbours.House) error {
	in, err := exchange.ReadBundle(from)
	if err != nil {
		return err
	}
	arrived, err := w.TakeOver(ctx, by, exchange.Receiving{From: in.Head.Letters, Name: "a look", Again: true,
		Signer: there.Key}, func() (*exchange.UnitHistory, error) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		return in.Next()
	})
	if err != nil {
		return err
	}
	if in.Signer != there.Key {
		return registry.Errorf(registry.Conflict, "the file was changed while it was read: nothing was kept")
	}
	for _, a := range arrived {
		if a.Does != exchange.ArrivalNew {
			return registry.Errorf(registry.Invalid, "%s in the bundle cannot be: %s: ask for a new one",
				a.Tag, a.Why)
		}
	}
	return nil
}

// standing reads the heads and bases that are in the house.
func standing(ctx context.Context, db stock.Store, there *neighbours.House) error {
	err := db.View(ctx, func(r stock.Reader) error {
		err := r.Machines(stock.MachineFilter{Here: true}, func(m *stock.Machine) error {
			if m.Here() {
				there.Heads = append(there.Heads, *m)
			}
			return nil
		})
		if err != nil {
			return err
		}
		if err := r.All(&there.Bases, stock.Fields{}); err != nil {
			return err
		}
		there.Bases = slices.DeleteFunc(there.Bases, func(b stock.Base) bool { return !b.Here() })
		return nil
	})
	there.Slim()
	return err
}
