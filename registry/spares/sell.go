package spares

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// SellSpares keeps that parts left the shelf, by their codes, as one lot that was sold, or of scrap where its
// metal is said. What the lot was need not be typed: the parts say it.
func (w *Spares) SellSpares(ctx context.Context, by registry.Initials, t *takings.Taking, what string,
	codes []string) (sold []Spare, err error) {
	if err := t.Called(what, len(codes) > 0); err != nil {
		return nil, err
	}
	err = w.Act(ctx, by, "sell lot", "", func(tx stock.Tx) error {
		if sold, err = leave(tx, t.Scrapped(), codes); err != nil {
			return err
		}
		if t.What == "" {
			t.What = said(sold)
		}
		if n := len(sold); n > 0 && !slices.ContainsFunc(sold, func(s Spare) bool {
			return s.Part != sold[0].Part
		}) {
			t.Part, t.Pieces = sold[0].Part, n
		}
		return w.Takings.Lot(tx, t)
	})
	return sold, err
}

// leave takes parts off the shelf for good.
func leave(tx stock.Tx, scrap bool, codes []string) (gone []Spare, err error) {
	for _, code := range codes {
		s, err := byCode(tx, code)
		if err != nil {
			return nil, registry.OnField("code", err)
		}
		if err := s.there("code", "sold"); err != nil {
			return nil, err
		}
		if s.Failed != "" && !scrap {
			return nil, registry.Errorf(registry.Conflict,
				"%s, a %s, %s: it is not sold, since nobody tests it where it goes; let it go as scrap",
				s.Code(), s.Part, s.Came()).On("code").Then(registry.Next(registry.DoListSpares, ""))
		}
		s.LeftAt, s.LeftBy, s.Place = tx.Action().At, tx.Action().By, ""
		if err := tx.Put(s); err != nil {
			return nil, err
		}
		gone = append(gone, *s)
	}
	return gone, nil
}

// said tells what the parts of a lot were: "handwheel S1 from PM16, belt-guard S4".
func said(sold []Spare) string {
	each := make([]string, len(sold))
	for i, s := range sold {
		if each[i] = s.Part + " " + s.Code(); s.TakenFrom != "" {
			each[i] = fmt.Sprintf("%s from %s", each[i], s.TakenFrom)
		}
	}
	return strings.Join(each, ", ")
}

// MainsAmong says whether one of the parts carries the mains, by the house's list.
func (w *Spares) MainsAmong(sold []Spare) (bool, error) {
	for _, s := range sold {
		part, err := w.PartNamed(s.Part)
		if registry.CodeOf(err) == registry.Invalid {
			continue // it stands on the list no more
		}
		if err != nil || part.carries() {
			return err == nil, err
		}
	}
	return false, nil
}
