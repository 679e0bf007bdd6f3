package main

import (
	"context"
	"maps"
	"slices"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/photo"
	"pitman/registry/pictures"
)

// photoNames are the pictures that the machines of a bundle speak of, and whether the bundle brought each.
type photoNames map[string]bool

// see takes note of the pictures in the history of a machine or base.
func (p photoNames) see(c *exchange.UnitHistory) {
	for _, change := range c.Changes {
		if change.Kind != (&pictures.Photo{}).Kind() {
			continue
		}
		if name, ok := change.Fields["name"][1].(string); ok && photo.IsName(name) {
			if _, noted := p[name]; !noted {
				p[name] = false
			}
		}
	}
}

// check refuses a picture that came in a bundle, unless one of its machines speaks of it and it is what its
// name says.
func (p photoNames) check(name string, stored []byte) error {
	if _, spoken := p[name]; !spoken {
		return registry.Errorf(registry.Invalid,
			"the bundle brings a picture that none of its machines has: ask for a new one; nothing was "+
				"taken over")
	}
	if err := photo.CheckStored(name, stored); err != nil {
		return registry.Errorf(registry.Invalid,
			"the bundle brings a picture that is not what it should be (%v): ask for a new one; "+
				"nothing was taken over", err)
	}
	return nil
}

// take checks such a picture and keeps it.
func (p photoNames) take(store photo.Store) func(name string, stored []byte) error {
	return func(name string, stored []byte) error {
		if err := p.check(name, stored); err != nil {
			return err
		}
		if store.Check(name) == nil {
			return nil
		}
		p[name] = true
		_, err := store.Put(&photo.Picture{Bytes: stored})
		return err
	}
}

// dropUnknown takes pictures out again that came in, and that the registry does not speak of: their machine
// was not taken over.
func (d *workplace) dropUnknown(ctx context.Context, names photoNames, store photo.Store) error {
	if !slices.Contains(slices.Collect(maps.Values(names)), true) {
		return nil
	}
	known, err := d.db.PhotoNames(ctx, pictures.Erased)
	if err != nil {
		return err
	}
	for name, came := range names {
		if use, ok := known[name]; came && (!ok || use.Erased || use.Undone) {
			if err := store.Remove(name); err != nil {
				return err
			}
		}
	}
	return nil
}

// carryPhotos writes the pictures of the machines that go into a bundle. Those that are gone, or that another
// house never sent, stay out.
func (d *workplace) carryPhotos(ctx context.Context, out *exchange.BundleWriter, names photoNames) error {
	store := photo.In(d.house.Dir)
	known, err := d.db.PhotoNames(ctx, pictures.Erased)
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if known[name].Erased {
			continue
		}
		stored, err := store.Read(name)
		if registry.CodeOf(err) == registry.NotFound {
			continue
		}
		if err != nil {
			return err
		}
		if err := out.AddPhoto(name, stored); err != nil {
			return err
		}
	}
	return nil
}
