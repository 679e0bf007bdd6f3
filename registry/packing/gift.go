package packing

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/money"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// GiftRow is a row of gift.csv: a paragraph of the gift letter.
type GiftRow struct {
	Where string `csv:"where" json:"where"` // above or below the table
	Text  string `csv:"text" json:"text"`
}

// Check says what is wrong with the row.
func (g GiftRow) Check() error {
	if g.Where != "above" && g.Where != "below" || strings.TrimSpace(g.Text) == "" {
		return registry.Errorf(registry.Invalid,
			"where %q with text %q is no paragraph: type above or below, and what the letter says", g.Where,
			g.Text)
	}
	return nil
}

// GiftLetter says that what leaves is given, and to whom.
type GiftLetter struct {
	Issue
	House    string     `json:"house"`
	Order    string     `json:"order"`
	Partner  string     `json:"partner"`
	Currency string     `json:"currency"`
	Above    []string   `json:"above"`
	Lines    []GiftLine `json:"lines"`
	Pieces   int        `json:"pieces"`
	Value    float64    `json:"declared_value"`
	Below    []string   `json:"below"`
}

// GiftLine is what of one kind is given.
type GiftLine struct {
	Kind   orders.Wanted  `json:"kind"`
	Number int            `json:"number"`
	Tags   []registry.Tag `json:"tags"`
	Value  *float64       `json:"declared_value"` // of all of them; nil when the house declares none
}

// Gift gives the gift letter of an order: as it was issued, or a draft of what leaves next.
func (w *Packing) Gift(ctx context.Context, number, paper string) (*GiftLetter, error) {
	return paperOf(ctx, w, number, PaperGift, paper, w.giftOf)
}

func (w *Packing) giftOf(r stock.Reader, number string, sets []promise.OrderSet) (*GiftLetter, error) {
	o, list, err := piecesOf(r, number, sets)
	if err != nil {
		return nil, err
	}
	g := &GiftLetter{House: w.Stock.Config.House.Name, Order: o.Number, Partner: o.Partner,
		Currency: w.Orders.Config.Currency, Above: []string{}, Lines: []GiftLine{}, Below: []string{}}
	if g.Issue, err = issueOf(r, o); err != nil {
		return nil, err
	}
	for _, one := range list {
		i := slices.IndexFunc(g.Lines, func(l GiftLine) bool { return l.Kind == one.line.Wanted })
		if i < 0 {
			i = len(g.Lines)
			g.Lines = append(g.Lines, GiftLine{Kind: one.line.Wanted})
		}
		l := &g.Lines[i]
		l.Number++
		g.Pieces++
		if l.Tags = append(l.Tags, one.head.Tag); one.base != nil {
			l.Tags = append(l.Tags, one.base.Tag)
			g.Pieces++
		}
	}
	for i := range g.Lines {
		l := &g.Lines[i]
		if value, ok := w.Orders.Config.Declared[l.Kind]; ok {
			all := (money.Of(value) * money.Amount(l.Number)).Units()
			l.Value = &all
			g.Value += all
		}
	}
	rows, err := stock.Rows(w.Lists.Gift)
	said := strings.NewReplacer("{house}", g.House, "{partner}", g.Partner, "{order}", g.Order, "{day}",
		cmp.Or(g.Day, w.LocalDay(w.Now())))
	for _, row := range rows {
		text := said.Replace(row.Text)
		if row.Where == "above" {
			g.Above = append(g.Above, text)
		} else {
			g.Below = append(g.Below, text)
		}
	}
	return g, err
}
