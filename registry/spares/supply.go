package spares

import (
	"context"
	"fmt"

	"pitman/registry"
	"pitman/registry/stock"
)

// Supply is a small thing that is counted: needles, belts, bobbins, tyres, oil.
type Supply struct {
	registry.Row
	Part  string `json:"part" db:"part"`
	Count int    `json:"count" db:"count"`
}

// Kind names the table.
func (*Supply) Kind() string { return "supply" }

// Subject is the thing itself.
func (s *Supply) Subject() string { return "supply " + s.Part }

// maxSupply of one small thing is more than any house has.
const maxSupply = 1_000_000

// smallPart finds a small thing on the house's list of parts.
func (w *Spares) smallPart(name string) (PartKind, error) {
	part, err := w.PartNamed(name)
	if err == nil && !part.Counted {
		err = registry.Errorf(registry.Invalid, "part %q moves one by one: take it off a machine",
			part.Part).On("part").
			Then(registry.Next(registry.DoTake, "").With("part", part.Part))
	}
	return part, err
}

// CountSupply sets how many of a small thing are there.
func (w *Spares) CountSupply(ctx context.Context, by registry.Initials, name string, count int) (s *Supply,
	err error) {
	part, err := w.smallPart(name)
	if err != nil {
		return nil, err
	}
	if count < 0 || count > maxSupply {
		return nil, registry.Errorf(registry.Invalid,
			"count %d of %s is no quantity: type a number from 0 to %d", count, part.Part, maxSupply)
	}
	err = w.Act(ctx, by, "spare count", "", func(tx stock.Tx) error {
		if s, err = supplyOf(tx, part.Part); err != nil {
			return err
		}
		s.Count = count
		return tx.Put(s)
	})
	return s, err
}

func useSupply(tx stock.Tx, part PartKind, use PartUse) (string, error) {
	if use.From != "" {
		return "", registry.Errorf(registry.Invalid,
			"%s is a small thing kept by quantity and has no code: leave it out", part.Part).On("from")
	}
	if use.Bought {
		return part.Part + ", bought", nil
	}
	s, err := supplyOf(tx, part.Part)
	if err != nil {
		return "", err
	}
	if s.Count == 0 {
		return "", registry.Errorf(registry.Conflict,
			"no %s is left: count what is there, or say that it was bought", part.Part).On("part").
			Then(registry.Next(registry.DoCountSpares, "").With("part", part.Part),
				registry.Next(registry.DoBought, "").With("part", part.Part))
	}
	s.Count--
	return fmt.Sprintf("%s, %d left", part.Part, s.Count), tx.Put(s)
}

func supplyOf(r stock.Reader, part string) (*Supply, error) {
	s := &Supply{Part: part}
	err := r.Get(s, stock.Fields{"part": part})
	if registry.CodeOf(err) == registry.NotFound {
		return &Supply{Part: part}, nil
	}
	return s, err
}
