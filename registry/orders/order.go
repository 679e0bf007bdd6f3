package orders

import (
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/fields"
	"pitman/registry/money"
	"pitman/registry/partners"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// OrderState is how far an order has come.
type OrderState string

const (
	OrderOpen      OrderState = "open"
	OrderShipped   OrderState = "shipped"
	OrderCancelled OrderState = "cancelled"
)

var orderStates = []OrderState{OrderOpen, OrderShipped, OrderCancelled}

// ParseOrderState reads a state's name.
func ParseOrderState(s string) (OrderState, error) { return registry.OneOf("state", s, orderStates) }

// Order is what a partner asks for by a date. What it asks for stands in its lines.
type Order struct {
	registry.Row
	Number   string                 `json:"order" db:"number"`
	Partner  string                 `json:"partner" db:"partner"`
	Due      string                 `json:"due" db:"due"`           // the day, as 2032-03-01
	Priority int                    `json:"priority" db:"priority"` // higher goes first
	Supply   electrical.MainsSupply `json:"supply" db:"supply"`
	Currency string                 `json:"currency" db:"currency"`
	// how much of it one of the house's is, as a person looked it up: "1 EUR = 655.957 XOF"
	Rate  string     `json:"rate" db:"rate"`
	State OrderState `json:"state" db:"state"`
	// ISPM 15 mark on the crates' timber
	TimberMark string            `json:"timber_mark" db:"timber_mark"`
	Note       string            `json:"note" db:"note,personal"`
	OpenedAt   time.Time         `json:"opened_at" db:"opened_at"`
	OpenedBy   registry.Initials `json:"opened_by" db:"opened_by"`
	ShippedAt  time.Time         `json:"shipped_at,omitzero" db:"shipped_at"`
	// why it was closed with places unfilled
	ShortWhy string `json:"closed_short,omitempty" db:"short_why,personal"`
	// what the list of a workshop that ran before calls it, and that it came in by that
	ImportID string `json:"import_id,omitempty" db:"import_id"`
	MovedIn  string `json:"moved_in,omitempty" db:"moved_in"`
}

// Kind names the table.
func (*Order) Kind() string { return "partner_order" }

// Subject is the order's own number.
func (o *Order) Subject() string { return o.Number }

// Wanted is what a line asks for.
type Wanted string

const (
	TreadleSet  Wanted = "treadle-set" // a head together with a base
	HandMachine Wanted = "hand"
	ElectricOne Wanted = "electric"
)

var WantedKinds = []Wanted{TreadleSet, HandMachine, ElectricOne}

// Drive is how the head of such a place is turned.
func (k Wanted) Drive() registry.Drive {
	return map[Wanted]registry.Drive{TreadleSet: registry.Treadle, HandMachine: registry.Hand,
		ElectricOne: registry.Electric}[k]
}

var orderNumber = regexp.MustCompile(`^(?:` + registry.OrderLetters + `)?0*([1-9][0-9]{0,8})$`)

// ParseOrder reads an order's number: "ORD12", or 12 alone.
func ParseOrder(s string) (string, error) {
	m := orderNumber.FindStringSubmatch(strings.ToUpper(strings.TrimSpace(s)))
	if m == nil {
		return "", registry.Errorf(registry.Invalid, "order %q is no order number: type it as ORD12, or 12",
			s).On("order").Then(registry.Next(registry.DoListOrders, ""))
	}
	return registry.OrderLetters + m[1], nil
}

// OrderFields lists what people type about an order.
var OrderFields = []fields.Of[Order]{
	fields.Text("for", "PARTNER", "the partner it is for", registry.MaxText,
		func(o *Order) *string { return &o.Partner }),
	{Name: "due", Value: "DATE", Usage: "day by which it leaves, such as 2032-03-01",
		Set: func(o *Order, v []string) (err error) {
			o.Due, err = fields.ParseDay("due", fields.Last(v))
			return err
		},
		Get: func(o *Order) []string { return []string{o.Due} }},
	{Name: "priority", Value: "N", Usage: "higher goes first (0 unless said)",
		Set: func(o *Order, v []string) (err error) {
			if o.Priority, err = strconv.Atoi(strings.TrimSpace(fields.Last(v))); err != nil ||
				o.Priority < -99 || o.Priority > 99 {
				return registry.Errorf(registry.Invalid,
					"priority %q is not one: type a whole number from -99 to 99, the higher the sooner",
					fields.Last(v))
			}
			return nil
		},
		Get: func(o *Order) []string { return []string{strconv.Itoa(o.Priority)} }},
	{Name: "supply", Value: "V/HZ/PLUG", Usage: "mains supply where it goes, such as 230V/50Hz/G",
		Set: func(o *Order, v []string) (err error) {
			o.Supply, err = electrical.ParseMainsSupply(fields.Last(v))
			return err
		},
		Get: func(o *Order) []string { return []string{string(o.Supply)} }},
	{Name: "currency", Value: "CODE",
		Usage: "currency of its local purchases, such as EUR (the partner's unless said, else the house's)",
		Set: func(o *Order, v []string) (err error) {
			o.Currency, err = money.ParseCurrency(fields.Last(v))
			return err
		},
		Get: func(o *Order) []string { return []string{o.Currency} }},
	fields.Text("rate", "NUMBER",
		"how much of its currency one of the house's is, as you looked it up",
		registry.MaxName, func(o *Order) *string { return &o.Rate }),
	{Name: "timber-mark", Value: "MARK", Usage: "ISPM 15 mark on the timber of its crates, as stamped",
		Set: func(o *Order, v []string) error { return setTimberMark(o, fields.Last(v)) },
		Get: func(o *Order) []string { return []string{o.TimberMark} }},
	fields.Text("note", "TEXT", "anything else", registry.MaxNote, func(o *Order) *string { return &o.Note }),
}

// OrderByNumber reads one order.
func OrderByNumber(r stock.Reader, number string) (*Order, error) {
	var o Order
	err := r.Get(&o, stock.Fields{"number": number})
	if registry.CodeOf(err) == registry.NotFound {
		return nil, registry.Errorf(registry.NotFound, "order %s is not in this house",
			number).On("order").Then(registry.Next(registry.DoListOrders, ""))
	}
	return &o, err
}

// StillOpen reads one that can still be worked on.
func StillOpen(r stock.Reader, number string) (*Order, error) {
	o, err := OrderByNumber(r, number)
	if err == nil && o.State != OrderOpen {
		err = registry.Errorf(registry.Conflict, "order %s is %s: open another", number,
			o.State).Then(registry.Next(registry.DoOpenOrder, ""))
	}
	return o, err
}

// OpenLine reads a line of an order that can still be worked on.
func OpenLine(r stock.Reader, number string, line int) (*Order, *OrderLine, error) {
	o, err := StillOpen(r, number)
	if err != nil {
		return nil, nil, err
	}
	l, err := LineOf(r, number, line)
	return o, l, err
}

func LineOf(r stock.Reader, number string, line int) (*OrderLine, error) {
	var l OrderLine
	err := r.Get(&l, stock.Fields{"number": number, "line": line})
	if registry.CodeOf(err) == registry.NotFound {
		err = registry.Errorf(registry.NotFound, "order %s has no line %d", number,
			line).On("line").Then(registry.Next(registry.DoShowOrder, "").Of(number))
	}
	return &l, err
}

// Orders lists the orders at a state, or all, oldest first.
func All(r stock.Reader, state OrderState) ([]Order, error) {
	orders := []Order{}
	if state == "" {
		return orders, r.All(&orders, stock.Fields{})
	}
	return orders, r.All(&orders, stock.Fields{"state": state})
}

// OrderLines lists the lines of an order, in their order.
func OrderLines(r stock.Reader, number string) ([]OrderLine, error) {
	lines := []OrderLine{}
	return lines, r.All(&lines, stock.Fields{"number": number})
}

// OpenOrder takes an order in; it gets its number.
func (w *Orders) OpenOrder(ctx context.Context, by registry.Initials, o *Order) error {
	return w.Act(ctx, by, "order open", "", func(tx stock.Tx) error { return w.EnterOrder(tx, o) })
}

// EnterOrder takes an order in within an action.
func (w *Orders) EnterOrder(tx stock.Tx, o *Order) error {
	if err := o.fromPartner(tx); err != nil {
		return err
	}
	if err := w.checkOrder(o); err != nil {
		return err
	}
	n, err := tx.Next("order")
	if err != nil {
		return err
	}
	o.Number, o.State = registry.OrderLetters+strconv.FormatInt(n, 10), OrderOpen
	o.OpenedAt, o.OpenedBy = tx.Action().At, tx.Action().By
	return tx.Put(o)
}

// fromPartner fills in what the record of the partner says and nobody said of the order.
func (o *Order) fromPartner(r stock.Reader) error {
	if o.Partner == "" {
		return nil
	}
	p, err := partners.Named(r, o.Partner)
	if err != nil || p == nil {
		return err
	}
	o.Supply, o.Currency = cmp.Or(o.Supply, p.Supply), cmp.Or(o.Currency, p.Currency)
	return nil
}

func (w *Orders) checkOrder(o *Order) error {
	if o.Currency == "" {
		o.Currency = w.Config.Currency
	}
	switch {
	case o.Partner == "":
		return registry.Errorf(registry.Invalid, "for is missing: give the partner's name").On("for")
	case o.Due == "":
		return registry.Errorf(registry.Invalid,
			"due is missing: give the day by which it leaves, such as 2032-03-01").On("due")
	}
	return o.settleRate(w.Config.Currency)
}

var keptRate = regexp.MustCompile(`^1 ([A-Z]{3}) = ([0-9.]{1,20}) ([A-Z]{3})$`)

// settleRate keeps a rate together with its two currencies. One of other currencies than the order's is of no
// use any more, and goes.
func (o *Order) settleRate(house string) error {
	if o.Rate == "" {
		return nil
	}
	if kept := keptRate.FindStringSubmatch(o.Rate); kept != nil {
		if kept[1] != house || kept[3] != o.Currency {
			o.Rate = ""
		}
		return nil
	}
	rate, err := strconv.ParseFloat(strings.Replace(o.Rate, ",", ".", 1), 64)
	switch {
	case o.Currency == house:
		return registry.Errorf(registry.Invalid,
			"rate %q has nothing to turn: order and house both count in %s", o.Rate, house).On("rate")
	case err != nil || !(rate > 0 && rate < 1e9):
		return registry.Errorf(registry.Invalid,
			"rate %q is no number: type how much of %s one %s is, such as 655.957", o.Rate, o.Currency,
			house).On("rate")
	}
	o.Rate = fmt.Sprintf("1 %s = %s %s", house, strconv.FormatFloat(rate, 'f', -1, 64), o.Currency)
	return nil
}

// Turned is an amount of the house's currency in the order's; ok is false where no rate of the two was
// entered.
func Turned(rate, from string, amount money.Amount) (turned money.Amount, into string, ok bool) {
	kept := keptRate.FindStringSubmatch(rate)
	if kept == nil || kept[1] != from {
		return 0, "", false
	}
	times, err := strconv.ParseFloat(kept[2], 64)
	return money.Of(amount.Units() * times), kept[3], err == nil
}

// OnOrder runs one action on one open order.
func (w *Orders) OnOrder(ctx context.Context, by registry.Initials, number, verb, why string,
	rule func(stock.Tx, *Order) error) (o *Order, err error) {
	err = w.Act(ctx, by, verb, why, func(tx stock.Tx) error {
		if o, err = StillOpen(tx, number); err != nil {
			return err
		}
		if err := rule(tx, o); err != nil {
			return err
		}
		return tx.Put(o)
	})
	return o, err
}

// AmendOrder corrects what an order says. The history keeps the old values.
func (w *Orders) AmendOrder(ctx context.Context, by registry.Initials, number, why string,
	correct func(*Order) error) (*Order, error) {
	return w.OnOrder(ctx, by, number, "order amend", why, func(tx stock.Tx, o *Order) error {
		supply := o.Supply
		if err := correct(o); err != nil {
			return err
		}
		if err := w.checkOrder(o); err != nil || o.Supply == supply {
			return err
		}
		return w.supplyChanges(tx, o)
	})
}

// ChangeLine asks for another number of places, down to those that are filled; 0 where none is, takes the
// line out.
func (w *Orders) ChangeLine(ctx context.Context, by registry.Initials, number string, line,
	asked int) (*OrderLine, error) {
	var l *OrderLine
	_, err := w.OnOrder(ctx, by, number, "order change", "", func(tx stock.Tx, o *Order) (err error) {
		if _, l, err = OpenLine(tx, number, line); err != nil {
			return err
		}
		sets, err := promise.OrderSets(tx, number)
		if err != nil {
			return err
		}
		filled := len(slices.DeleteFunc(sets, func(s promise.OrderSet) bool { return s.Line != line }))
		if asked < filled {
			return registry.Errorf(registry.Conflict,
				"%s of line %d %s filled: give some back before asking for %d",
				registry.Counted(filled, "place"), line, registry.Agree(filled, "is", "are"), asked).On("qty").
				Then(registry.Next(registry.DoUnreserve, "").Of(number).Asking("tag"))
		}
		if asked > maxSlots {
			return registry.Errorf(registry.Invalid,
				"quantity %d is too many: type a whole number from 0 to %d", asked, maxSlots)
		}
		l.Asked = asked
		return tx.Put(l)
	})
	return l, err
}

// CancelOrder closes an order that will not be sent. What is reserved for it must be given back first, so
// that nobody loses sight of it.
func (w *Orders) CancelOrder(ctx context.Context, by registry.Initials, number, why string) (*Order, error) {
	return w.OnOrder(ctx, by, number, "order cancel", why, func(tx stock.Tx, o *Order) error {
		sets, err := promise.OrderSets(tx, number)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(sets, func(s promise.OrderSet) bool { return !s.ShippedAt.IsZero() }) {
			return registry.Errorf(registry.Conflict,
				"a part of order %s has left the house: it is closed short, with a reason, and not cancelled",
				number).
				Then(registry.Next(registry.DoShip, "").Of(number).Asking("close-short"))
		}
		if len(sets) > 0 {
			return registry.Errorf(registry.Conflict,
				"order %s has machines reserved for it: give them back first",
				number).Then(registry.Next(registry.DoUnreserve, "").Of(number))
		}
		o.State = OrderCancelled
		return nil
	})
}
