package kinds

import (
	"pitman/registry"
	"pitman/registry/appeals"
	"pitman/registry/orders"
	"pitman/registry/partners"
	"pitman/registry/shipments"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// numbered is what bears a number of its own, under which its history stands as that of a machine does under
// its tag.
type numbered struct {
	numberOf func(text string) (number string, ok bool)
	known    func(r stock.Reader, number string) error
}

// allNumbered are they; orders come first, since they alone are known by a bare figure.
var allNumbered = []numbered{
	{func(text string) (string, bool) {
		number, err := orders.ParseOrder(text)
		return number, err == nil
	}, func(r stock.Reader, number string) error { _, err := orders.OrderByNumber(r, number); return err }},
	{partners.NumberOf,
		func(r stock.Reader, number string) error { _, err := partners.Known(r, number); return err }},
	{appeals.NumberOf,
		func(r stock.Reader, number string) error { _, err := appeals.ByNumber(r, number); return err }},
	{takings.NumberOf,
		func(r stock.Reader, number string) error { _, err := takings.ByNumber(r, number); return err }},
	{shipments.NumberOf,
		func(r stock.Reader, number string) error { _, err := shipments.ByNumber(r, number); return err }},
}

// ParseSubject reads what has a history: a tag, or the number of an order, a partner, a pledge, a taking or a
// shipment.
func ParseSubject(text string) (registry.Tag, error) {
	for _, n := range allNumbered {
		if number, ok := n.numberOf(text); ok {
			return registry.Tag(number), nil
		}
	}
	return registry.ParseTag(text)
}

// Numbered says whether a subject bears such a number, and refuses one that is not in this house.
func Numbered(r stock.Reader, subject registry.Tag) (is bool, err error) {
	for _, n := range allNumbered {
		if number, ok := n.numberOf(string(subject)); ok {
			return true, n.known(r, number)
		}
	}
	return false, nil
}
