// Package pictures says which stored picture shows what. The pictures themselves are files of the house
// (package photo); here are the records of them, kept and undone like all others, but for one that was
// erased: nothing brings that back.
package pictures

import (
	"context"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/photo"
	"pitman/registry/stock"
)

// Pictures is the room where pictures are noted and put away.
type Pictures struct{ *stock.Stock }

// Photo says that a stored picture shows a head or a base. The picture itself is a file of the house, under
// the SHA-256 of its bytes (package photo); one that several units share is one file.
type Photo struct {
	registry.Row
	Tag    registry.Tag      `json:"tag" db:"tag"`
	Name   string            `json:"photo" db:"name"` // the SHA-256 of the stored bytes
	Shows  string            `json:"shows" db:"shows"`
	Width  int               `json:"width" db:"width"`
	Height int               `json:"height" db:"height"`
	At     time.Time         `json:"at" db:"at"`
	By     registry.Initials `json:"by" db:"by"`
	Gone   string            `json:"gone,omitempty" db:"gone"` // "", Aside or Erased
}

// How a picture can be gone.
const (
	Aside  = "put aside" // shown no more; its file is kept, so that this can be undone
	Erased = "for good"  // its file is taken out of the house, for whatever should not be kept
)

// Plate is what a picture shows of which a serial can be read again.
const Plate = "plate"

// Shows are what a picture can show.
var Shows = []string{"whole", Plate, "decal", "fault"}

// Kind names the table.
func (*Photo) Kind() string { return "photo" }

// Subject is the head or base that it shows.
func (p *Photo) Subject() string { return string(p.Tag) }

// ParseShows reads what a picture shows; the whole machine unless said.
func ParseShows(s string) (string, error) {
	if strings.TrimSpace(s) == "" {
		return Shows[0], nil
	}
	return registry.OneOf("shows", s, Shows)
}

// KeepPhoto takes a picture into the house and notes what it shows. Its file is written only as its record
// is, and goes again where that is refused or was sent before, so that no picture is kept that nobody can
// remove.
func (w *Pictures) KeepPhoto(ctx context.Context, by registry.Initials, store photo.Store,
	taken *photo.Picture, tag registry.Tag, shows string) (Photo, error) {
	p := Photo{Tag: tag, Name: taken.Name(), Shows: shows, Width: taken.Width, Height: taken.Height}
	fresh := false // a file that was there before is another record's
	err := w.addPhoto(ctx, by, &p, func() error {
		fresh = fresh || store.Check(p.Name) != nil
		_, err := store.Put(taken)
		return err
	})
	if err != nil && fresh {
		w.dropUnshown(context.WithoutCancel(ctx), store, taken.Name())
	}
	return p, err
}

// dropUnshown takes a file away that no record came to show; where that cannot be told, it stays.
func (w *Pictures) dropUnshown(ctx context.Context, store photo.Store, name string) {
	_ = w.Store.View(ctx, func(r stock.Reader) error {
		var same []Photo
		err := r.All(&same, stock.Fields{"name": name})
		if err != nil || slices.ContainsFunc(same, func(p Photo) bool { return p.Gone != Erased }) {
			return err
		}
		return store.Remove(name)
	})
}

// AddPhoto notes that a picture whose file is there shows a head or a base. One that it has already is not
// noted again; one that was put aside is back.
func (w *Pictures) AddPhoto(ctx context.Context, by registry.Initials, p *Photo) error {
	return w.addPhoto(ctx, by, p, func() error { return nil })
}

func (w *Pictures) addPhoto(ctx context.Context, by registry.Initials, p *Photo, keep func() error) error {
	shows, err := ParseShows(p.Shows)
	if err != nil {
		return err
	}
	return w.Act(ctx, by, "photo", shows, func(tx stock.Tx) error {
		if err := photographed(tx, p.Tag); err != nil {
			return err
		}
		all, err := photosOf(tx, p.Tag)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(all, func(had Photo) bool { return had.Name == p.Name && had.Gone != Erased })
		if i >= 0 {
			*p = all[i]
			p.Gone, p.Shows = "", shows
		} else {
			p.Shows, p.At, p.By, p.Gone = shows, tx.Action().At, by, ""
		}
		if err := tx.Put(p); err != nil {
			return err
		}
		return keep()
	})
}

// ShownPhoto refuses the name of a picture that no record shows: its file, if there is one, is not for eyes.
func (w *Pictures) ShownPhoto(ctx context.Context, name string) error {
	return w.Store.View(ctx, func(r stock.Reader) error {
		var shown []Photo
		err := r.All(&shown, stock.Fields{"name": name, "gone": ""})
		if err == nil && len(shown) == 0 {
			err = registry.Errorf(registry.NotFound,
				"there is no picture %q: choose one of those that are listed", name)
		}
		return err
	})
}

// photographed refuses a unit that another house has now.
func photographed(r stock.Reader, tag registry.Tag) error {
	u, err := stock.UnitByTag(r, tag)
	if err != nil {
		return err
	}
	return u.Workable()
}

func photosOf(r stock.Reader, tag registry.Tag) (all []Photo, err error) {
	err = r.All(&all, stock.Fields{"tag": tag})
	return all, err
}

// Photos lists the pictures of a head or a base, oldest first.
func (w *Pictures) Photos(ctx context.Context, tag registry.Tag) (shown []Photo, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if _, _, err := stock.HeadOrBase(r, tag); err != nil {
			return err
		}
		shown, err = photosOf(r, tag)
		return err
	})
	shown = slices.DeleteFunc(shown, func(p Photo) bool { return p.Gone != "" })
	if shown == nil {
		shown = []Photo{}
	}
	return shown, err
}

// RemovePhoto puts a picture of a head or base aside; begin is its name, or enough of it. For good, it goes
// from every unit that it shows, and erase takes its file out of the house once that is written down; nothing
// brings it back but a backup made before.
func (w *Pictures) RemovePhoto(ctx context.Context, by registry.Initials, tag registry.Tag, begin string,
	forGood bool, erase func(name string) error) (p Photo, err error) {
	verb := "photo put aside"
	if forGood {
		verb = "photo erased"
	}
	err = w.Act(ctx, by, verb, "", func(tx stock.Tx) error {
		if !forGood { // what should not be kept goes, wherever the machine is
			if err := photographed(tx, tag); err != nil {
				return err
			}
		}
		all, err := photosOf(tx, tag)
		if err != nil {
			return err
		}
		if p, err = photoNamed(all, tag, begin, forGood); err != nil {
			return err
		}
		if !forGood {
			p.Gone = Aside
			return tx.Put(&p)
		}
		var same []Photo
		if err := tx.All(&same, stock.Fields{"name": p.Name}); err != nil {
			return err
		}
		for i := range same {
			same[i].Gone = Erased
			if err := tx.Put(&same[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil && forGood {
		err = erase(p.Name)
	}
	return p, err
}

// photoNamed finds the one picture whose name begins so.
func photoNamed(all []Photo, tag registry.Tag, begin string, forGood bool) (Photo, error) {
	begin = strings.ToLower(strings.TrimSpace(begin))
	var found []Photo
	for _, p := range all {
		// What was put aside can still be taken out for good.
		if begin != "" && strings.HasPrefix(p.Name, begin) && (p.Gone == "" || forGood && p.Gone == Aside) {
			found = append(found, p)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return Photo{},
			registry.Errorf(registry.NotFound,
				"%s has no picture %q: give the name of one that is listed, or its first letters", tag, begin)
	}
	return Photo{},
		registry.Errorf(registry.Invalid,
			"photo %q begins the names of %d pictures of %s: give more of the name", begin, len(found), tag)
}

// GuardErased keeps erased pictures erased: their files are gone, so no undoing brings them back.
func GuardErased(r stock.Reader, action int64, subjects []string) error {
	for _, subject := range subjects {
		var erased bool
		err := r.Changes(subject, func(a *registry.Action, c *registry.Change) error {
			if a.ID == action && c.Kind == (*Photo)(nil).Kind() && c.Fields["gone"][1] == Erased {
				erased = true
			}
			return nil
		})
		if err != nil {
			return err
		}
		if erased {
			return registry.Errorf(registry.Conflict,
				"a picture of %s was erased for good, which cannot be undone: take a new one", subject)
		}
	}
	return nil
}
