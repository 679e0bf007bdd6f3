package planning

import (
	"context"
	"slices"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Need is what all open orders together lack, once stock has filled what it can: what to ask supporters for.
type Need struct {
	Heads []HeadNeed       `json:"heads"`
	Bases []BaseNeed       `json:"bases"`
	Kits  []spares.KitNeed `json:"kits"`
	Money []MoneyNeed      `json:"money"`
	// what other houses have of it, where that was asked
	Rounds  []Round  `json:"rounds,omitempty"`
	Driving *Driving `json:"driving,omitempty"`
}

// HeadNeed is how many places for one drive nothing in stock fills.
type HeadNeed struct {
	Drive  registry.Drive `json:"drive"`
	Empty  int            `json:"empty"`
	Coming int            `json:"coming"`  // of them, those that heads in hand fill once they are ready
	NoBase int            `json:"no_base"` // of them, those for which a base is missing, whatever heads come
	Due    string         `json:"due"`
}

// BaseNeed is a bed pattern whose bases would fill places, by the heads in stock.
type BaseNeed struct {
	Pattern       string         `json:"pattern"`
	Fill          int            `json:"fill"` // places that as many such bases as are asked for would fill
	Like          registry.Tag   `json:"like"`
	OpeningLength measure.Length `json:"opening_length_mm"`
	OpeningWidth  measure.Length `json:"opening_width_mm"`
	Pins          measure.Length `json:"pins_mm"`
}

// MoneyNeed is what buying the rest locally costs in one currency, as far as the house has prices.
type MoneyNeed struct {
	Currency string  `json:"currency"`
	Amount   float64 `json:"amount"`
	Places   int     `json:"places"`
	NoPrice  int     `json:"no_price"` // places that no price is known for
}

// NeedOf sums up what open orders lack; withHouses, once other houses have given what they have, too.
func (w *Planning) NeedOf(ctx context.Context, withHouses bool) (*Need, error) {
	s, err := w.read(ctx, nil)
	if err == nil && withHouses {
		s, err = s.withHouses(ctx)
	}
	if err != nil {
		return nil, err
	}
	out, err := s.outlook(ctx)
	if err != nil {
		return nil, err
	}
	n := &Need{Heads: []HeadNeed{}, Bases: []BaseNeed{}, Kits: out.Kits, Money: []MoneyNeed{},
		Rounds: out.Rounds, Driving: out.Driving}
	for _, drive := range registry.Drives {
		if p := out.Places[drive]; p.Empty() > 0 {
			n.Heads = append(n.Heads, HeadNeed{drive, p.Empty(), p.Coming, p.NoBase, p.Due})
		}
	}
	n.money(out.Proposal)
	empty := out.Places[registry.Treadle].Empty()
	if empty == 0 {
		return n, nil
	}
	asked, err := s.whatIf(ctx, min(empty, 1000))
	if err != nil {
		return nil, err
	}
	bases, err := w.Bases(ctx, func(*stock.Base) bool { return true })
	if err != nil {
		return nil, err
	}
	for _, a := range asked {
		i := slices.IndexFunc(bases, func(b stock.Base) bool { return b.Tag == a.Like })
		known := slices.ContainsFunc(n.Bases, func(b BaseNeed) bool { return b.Pattern == a.Pattern })
		if a.More > 0 && i >= 0 && !known {
			b := bases[i]
			n.Bases = append(n.Bases,
				BaseNeed{a.Pattern, a.More, a.Like, b.OpeningLength, b.OpeningWidth, b.Pins})
		}
	}
	return n, nil
}

func (n *Need) money(p *Proposal) {
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			if l.Short == 0 {
				continue
			}
			i := slices.IndexFunc(n.Money, func(m MoneyNeed) bool { return m.Currency == o.Currency })
			if i < 0 {
				i = len(n.Money)
				n.Money = append(n.Money, MoneyNeed{Currency: o.Currency})
			}
			n.Money[i].Places += l.Short
			if l.Fund == nil {
				n.Money[i].NoPrice += l.Short
			} else {
				n.Money[i].Amount += *l.Fund
			}
		}
	}
}
