// Package takings is what came in for that which left by other ways than an order: machines and bases sold,
// lots of parts, scrap by metal and weight. Nobody has to say it, and it decides nothing.
package takings

import (
	"time"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/money"
	"pitman/registry/stock"
)

// Way is how something left.
type Way string

const (
	Sale  Way = "sale"
	Parts Way = "parts"
	Scrap Way = "scrap"
)

// Ways are all of them, in the order in which they are told.
var Ways = []Way{Sale, Parts, Scrap}

// Taking is what one machine or base brought when it left, or a lot.
type Taking struct {
	registry.Row
	ID   string       `json:"taking,omitempty" db:"ident"` // of a lot
	Tag  registry.Tag `json:"tag,omitempty" db:"tag"`      // of what left by itself
	Way  Way          `json:"way" db:"way"`
	What string       `json:"what" db:"what,personal"`
	// of a lot of one kind of part off the shelf
	Part     string            `json:"part,omitempty" db:"part"`
	Pieces   int               `json:"pieces,omitempty" db:"pieces"` // of it
	Metal    string            `json:"metal" db:"metal"`
	Weight   measure.Mass      `json:"weight_kg" db:"weight_g"`
	Brought  *money.Amount     `json:"brought" db:"brought_hundredths"` // nil: nobody said
	Currency string            `json:"currency" db:"currency"`
	At       time.Time         `json:"at" db:"taken_at"`
	By       registry.Initials `json:"by" db:"taken_by"`
}

// Kind names the table.
func (*Taking) Kind() string { return "taking" }

// Subject is the machine or base, so that what it brought travels and is undone with it; else the lot.
func (t *Taking) Subject() string {
	if t.Tag != "" {
		return string(t.Tag)
	}
	return t.ID
}

// Letters begin a lot's number.
const Letters = "TAKING"

// NumberOf reads a lot's number as people type it among tags: TAKING1.
func NumberOf(s string) (number string, ok bool) { return registry.Numbered(Letters, s) }

// ByNumber reads a lot.
func ByNumber(r stock.Reader, number string) (*Taking, error) {
	t := &Taking{}
	err := r.Get(t, stock.Fields{"ident": number})
	if registry.CodeOf(err) == registry.NotFound {
		err = registry.Errorf(registry.NotFound, "taking %s is not in this house", number).On("taking").
			Then(registry.Next(registry.DoListTakings, ""))
	}
	return t, err
}

// most is more than anything here brings, in any currency.
const most = 1_000_000_000

// Fields lists what people type about what something brought.
var Fields = []fields.Of[Taking]{
	{Name: "brought", Value: "AMOUNT", Usage: "what it brought, such as 45.00 or \"45.00 EUR\"",
		Set: func(t *Taking, v []string) error {
			if t.Brought = nil; registry.Blank(fields.Last(v)) {
				t.Currency = ""
				return nil
			}
			amount, currency, err := money.ParseWith("brought", fields.Last(v), most)
			if t.Brought = &amount; currency != "" {
				t.Currency = currency
			}
			return err
		},
		Get: func(t *Taking) []string {
			if t.Brought == nil {
				return []string{""}
			}
			return []string{t.Brought.String() + " " + t.Currency}
		}},
	{Name: "currency", Value: "CODE", Usage: "currency of what it brought (the house's unless said)",
		Set: func(t *Taking, v []string) (err error) {
			t.Currency, err = money.ParseCurrency(fields.Last(v))
			return err
		},
		Get: func(t *Taking) []string { return []string{t.Currency} }},
	fields.Text("metal", "METAL", "of scrap: its metal, such as \"cast iron\"", registry.MaxName,
		func(t *Taking) *string { return &t.Metal }),
	fields.Weight("weight", "of scrap: weight of the metal, in kg unless a unit is typed",
		func(t *Taking) *measure.Mass { return &t.Weight }),
}

// check refuses what does not go with the way that it left, and fills in the house's currency.
func (t *Taking) check(houses string) error {
	switch {
	case t.Brought == nil && t.Currency != "":
		return registry.Errorf(registry.Invalid,
			"currency %s stands without an amount: type what it brought, too", t.Currency).On("currency")
	case t.Way != Scrap && t.Metal != "":
		return registry.Errorf(registry.Invalid,
			"metal %q is for scrap: leave it out, or scrap it", t.Metal).On("metal")
	case t.Way != Scrap && t.Weight > 0:
		return registry.Errorf(registry.Invalid,
			"weight %s is for scrap: leave it out, or scrap it", t.Weight).On("weight")
	case t.Metal == "" && t.Weight > 0:
		return registry.Errorf(registry.Invalid,
			"metal is missing beside a weight of %s: type which metal it is", t.Weight).On("metal")
	}
	if t.Brought != nil && t.Currency == "" {
		t.Currency = houses
	}
	return nil
}

// SetBrought sets what it brought as it was typed.
func (t *Taking) SetBrought(typed string) error {
	brought, _ := fields.Named(Fields, "brought")
	return brought.Set(t, []string{typed})
}

// Called keeps what a lot is called; it may have no name where its parts say what it was.
func (t *Taking) Called(what string, parts bool) (err error) {
	if t.What, err = registry.CleanText("what", what, registry.MaxText); err == nil && t.What == "" &&
		!parts {
		err = registry.Errorf(registry.Invalid, "what is missing: type what the lot was").On("what")
	}
	return err
}

// Scrapped says whether a lot is scrap.
func (t *Taking) Scrapped() bool { return t.Metal != "" || t.Weight > 0 }

// says tells whether anything was typed.
func (t *Taking) says() bool {
	return t.Brought != nil || t.Currency != "" || t.Metal != "" || t.Weight > 0
}
