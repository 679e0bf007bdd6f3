// Package shipments is what leaves together: orders, whole or in part, on pallets in a freight container,
// what the way cost and how it arrived. Which of an order's pieces may leave, package packing says.
package shipments

import (
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/container"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/money"
	"pitman/registry/packing"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// State is how far a shipment has come.
type State string

const (
	Open    State = "open"
	Left    State = "left"
	Arrived State = "arrived"
)

// Shipment is a container that leaves on a day. Which places of orders go with it, those say themselves.
type Shipment struct {
	registry.Row
	ID        string                 `json:"shipment" db:"ident"`
	Container string                 `json:"container_ft" db:"container"` // a name of boxes
	Day       string                 `json:"leaves" db:"day"`             // planned; "" not known
	Freight   money.Amount           `json:"-" db:"freight_hundredths"`   // of the whole way; 0: not known
	Currency  string                 `json:"currency" db:"currency"`
	Note      string                 `json:"note" db:"note,personal"`
	State     State                  `json:"state" db:"state"`
	Orders    registry.List[OnBoard] `json:"-" db:"orders,json"`
	OpenedAt  time.Time              `json:"opened_at" db:"opened_at"`
	OpenedBy  registry.Initials      `json:"opened_by" db:"opened_by"`
	LeftAt    time.Time              `json:"left_at,omitzero" db:"left_at"`
	LeftBy    registry.Initials      `json:"left_by,omitempty" db:"left_by"`
	Arrived   string                 `json:"arrived" db:"arrived"` // the day there
	Receipt   string                 `json:"receipt" db:"receipt,personal"`
	Damage    string                 `json:"damage" db:"damage,personal"`
}

// OnBoard is an order that goes with a shipment.
type OnBoard struct {
	Order string `json:"order"`
	Part  bool   `json:"part"` // what is on no shipment stays open for a later one
	// as a person measured what was built for it; empty: as its crates are planned
	Measured registry.List[Measured] `json:"measured"`
}

// Measured is so many equal pallets as a person measured them, packed.
type Measured struct {
	Count  int          `json:"count"`
	Length int          `json:"length_mm"`
	Width  int          `json:"width_mm"`
	Height int          `json:"height_mm"`
	Weight measure.Mass `json:"weight_kg"` // of one
}

// Kind names the table.
func (*Shipment) Kind() string { return "shipment" }

// Subject is the shipment's own number.
func (s *Shipment) Subject() string { return s.ID }

// Letters begin a shipment's number. They are longer than the letters of any house, so no tag looks like one.
const Letters = "SHIPMENT"

// NumberOf reads a shipment's number as people type it among tags: SHIPMENT1.
func NumberOf(s string) (number string, ok bool) { return registry.Numbered(Letters, s) }

// ParseNumber reads a shipment's number: SHIPMENT1, or 1 alone.
func ParseNumber(s string) (string, error) {
	digits := strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(s)), Letters)
	if n, ok := NumberOf(Letters + digits); ok {
		return n, nil
	}
	return "", registry.Errorf(registry.Invalid,
		"shipment %q is no shipment's number: type it as SHIPMENT12, or 12", s).On("shipment").
		Then(registry.Next(registry.DoListShips, ""))
}

// boxes are the containers that a shipment can be planned for, by their length in feet.
var boxes = map[string]container.Box{"20": container.Twenty, "40": container.Forty}

// Fields lists what people type about a shipment.
var Fields = []fields.Of[Shipment]{
	{Name: "container", Value: "20|40", Usage: "length of the container in feet: 20 or 40",
		Set: func(s *Shipment, v []string) error {
			s.Container = strings.TrimSuffix(strings.ReplaceAll(fields.Last(v), " ", ""), "ft")
			if _, known := boxes[s.Container]; !known {
				return registry.Errorf(registry.Invalid,
					"container %q is not planned here: type 20 or 40, its length in feet",
					fields.Last(v)).On("container")
			}
			return nil
		},
		Get: func(s *Shipment) []string { return []string{s.Container} }},
	{Name: "date", Value: "DATE", Usage: "day on which it leaves, such as 2032-03-01",
		Set: func(s *Shipment, v []string) (err error) {
			if s.Day = ""; !registry.Blank(fields.Last(v)) {
				s.Day, err = fields.ParseDay("date", fields.Last(v))
			}
			return err
		},
		Get: func(s *Shipment) []string { return []string{s.Day} }},
	{Name: "freight", Value: "AMOUNT",
		Usage: "what the whole way costs, such as \"2400.50 EUR\"; 0 if it is not known",
		Set:   setFreight,
		Get: func(s *Shipment) []string {
			return []string{strings.TrimSpace(s.Freight.String() + " " + s.Currency)}
		}},
	{Name: "currency", Value: "CODE", Usage: "currency of the freight (the house's unless said)",
		Set: func(s *Shipment, v []string) (err error) {
			s.Currency, err = money.ParseCurrency(fields.Last(v))
			return err
		},
		Get: func(s *Shipment) []string { return []string{s.Currency} }},
	fields.Text("note", "TEXT", "anything else", registry.MaxNote,
		func(s *Shipment) *string { return &s.Note }),
}

// maxFreight is more than any way costs, in any currency.
const maxFreight = 1_000_000_000_000

// setFreight reads an amount, and the currency behind it where one is given.
func setFreight(s *Shipment, v []string) error {
	amount, currency, err := money.ParseWith("freight", fields.Last(v), maxFreight)
	if s.Freight = amount; currency != "" {
		s.Currency = currency
	}
	return err
}

// ByNumber reads one shipment.
func ByNumber(r stock.Reader, number string) (*Shipment, error) {
	var s Shipment
	err := r.Get(&s, stock.Fields{"ident": number})
	if registry.CodeOf(err) == registry.NotFound {
		return nil, registry.Errorf(registry.NotFound, "shipment %s is not in this house",
			number).On("shipment").Then(registry.Next(registry.DoListShips, ""))
	}
	return &s, err
}

// All lists the shipments at a state, or all, oldest first.
func All(r stock.Reader, state State) ([]Shipment, error) {
	list, where := []Shipment{}, stock.Fields{}
	if state != "" {
		where["state"] = state
	}
	return list, r.All(&list, where)
}

// at finds an order on a shipment.
func (s *Shipment) at(order string) int {
	return slices.IndexFunc(s.Orders, func(o OnBoard) bool { return o.Order == order })
}

// Places lists the places of an order that go with a shipment.
func Places(r stock.Reader, shipment, order string) ([]promise.OrderSet, error) {
	sets, err := promise.OrderSets(r, order)
	return slices.DeleteFunc(sets, func(s promise.OrderSet) bool { return s.Shipment != shipment }), err
}

// Shipments is the room where orders are loaded together.
type Shipments struct {
	*stock.Stock
	Packing *packing.Packing
}
