// Package partners is whom orders are for: where they are, whom to ask, and what electricity they have.
// Orders name a partner in words; a record is found by its name, however it is written.
package partners

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/near"
	"pitman/registry/stock"
)

// Partners is the room where they are kept.
type Partners struct{ *stock.Stock }

// Letters begin a partner's number. They are longer than the letters of any house, so no tag looks like one.
const Letters = "PARTNER"

// Named finds the record of the partner with this name, or with this number; nil where there is none.
func Named(r stock.Reader, name string) (*Partner, error) {
	var p Partner
	where := stock.Fields{"name_key": stock.MakerKey(name)}
	err := r.Get(&p, where)
	if registry.CodeOf(err) == registry.NotFound {
		if number, isNumber := NumberOf(name); isNumber {
			err = r.Get(&p, stock.Fields{"ident": number})
		}
	}
	if registry.CodeOf(err) == registry.NotFound {
		return nil, nil
	}
	return &p, err
}

// NumberOf reads a number with its letters, under which the history stands; a bare figure may be a name.
func NumberOf(s string) (string, bool) { return registry.Numbered(Letters, s) }

// known is Named where there must be one.
func known(r stock.Reader, name string) (*Partner, error) {
	p, err := Named(r, name)
	if err != nil || p != nil {
		return p, err
	}
	all, err := All(r)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, one := range all {
		names = append(names, one.Name)
	}
	missing := registry.Errorf(registry.NotFound, "no partner here is called %q: look how the name is spelt",
		name).On("partner").Then(registry.Next(registry.DoListPartners, ""))
	if like := near.Name(names, name); like != "" {
		missing = registry.Errorf(registry.NotFound, "no partner here is called %q: is it %s?", name,
			like).On("partner").Then(registry.Next(registry.DoListPartners, ""))
	}
	return nil, missing
}

// Known is the partner with this name or number; there must be one.
func Known(r stock.Reader, name string) (*Partner, error) { return known(r, name) }

// All lists the partners, by name.
func All(r stock.Reader) ([]Partner, error) {
	list := []Partner{}
	err := r.All(&list, stock.Fields{})
	slices.SortStableFunc(list, func(a, b Partner) int { return strings.Compare(a.NameKey, b.NameKey) })
	return list, err
}

// AddPartner keeps a new partner; it gets its number.
func (w *Partners) AddPartner(ctx context.Context, by registry.Initials, p *Partner) error {
	return w.Act(ctx, by, "partner add", "", func(tx stock.Tx) error { return Enter(tx, p) })
}

// Enter keeps a new partner within an action.
func Enter(tx stock.Tx, p *Partner) error {
	if err := p.settle(tx); err != nil {
		return err
	}
	n, err := tx.Next("partner")
	if err != nil {
		return err
	}
	p.ID = Letters + strconv.FormatInt(n, 10)
	return tx.Put(p)
}

// AmendPartner corrects what is known of a partner. The history keeps the old values. Orders keep the name
// that was written on them, so a partner whose name changes is found by the old one no longer.
func (w *Partners) AmendPartner(ctx context.Context, by registry.Initials, name, why string,
	correct func(*Partner) error) (p *Partner, err error) {
	err = w.Act(ctx, by, "partner amend", why, func(tx stock.Tx) error {
		if p, err = known(tx, name); err != nil {
			return err
		}
		if err := correct(p); err != nil {
			return err
		}
		if err := p.settle(tx); err != nil {
			return err
		}
		return tx.Put(p)
	})
	return p, err
}

// settle refuses a partner without a name, and a second one of the same name.
func (p *Partner) settle(r stock.Reader) error {
	if p.NameKey = stock.MakerKey(p.Name); p.NameKey == "" {
		return registry.Errorf(registry.Invalid,
			"name %q has no letter or figure: type the partner's name", p.Name).On("name")
	}
	var other Partner
	err := r.Get(&other, stock.Fields{"name_key": p.NameKey})
	switch {
	case registry.CodeOf(err) == registry.NotFound:
		return nil
	case err != nil:
		return err
	case other.ID == p.ID:
		return nil
	}
	return registry.Errorf(registry.Conflict,
		"%s is here already, as %s: correct that record, or give this one a name that tells them apart",
		other.Name, other.ID).On("name").Then(registry.Next(registry.DoAmendPartner, "").
		With("name", other.Name))
}
