package orders

import (
	"context"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/stock"
	"pitman/serials/years"
)

// OrderLine is so many equal places in an order. Its limits bear on heads.
type OrderLine struct {
	registry.Row
	Order     string          `json:"order" db:"number"`
	Line      int             `json:"line" db:"line"`
	Wanted    Wanted          `json:"kind" db:"wanted"`
	Asked     int             `json:"asked" db:"asked"`
	MadeAfter years.Year      `json:"made_after" db:"made_after"` // 0 = any year
	Maker     string          `json:"maker" db:"maker"`
	Bed       string          `json:"bed" db:"bed"`
	Stitch    registry.Stitch `json:"stitch" db:"stitch"`
	WattsMax  int             `json:"watts_max" db:"watts_max"` // 0 = any
	// machines of other volts than the order's supply go, once they are made to suit
	OtherVolts bool           `json:"other_volts,omitempty" db:"other_volts"`
	Cord       measure.Length `json:"cord,omitempty" db:"cord"` // at least so long; 0 = any
}

// Kind names the table.
func (*OrderLine) Kind() string { return "order_line" }

// Subject is the order.
func (l *OrderLine) Subject() string { return l.Order }

// maxSlots bounds one line; no partner is sent more at once.
const maxSlots = 10_000

// LineFields lists the limits that people type on a line.
var LineFields = []fields.Of[OrderLine]{
	{Name: "made-after", Value: "YEAR", Usage: "only machines certainly made after this year",
		Set: func(l *OrderLine, v []string) error {
			if l.MadeAfter = 0; fields.Last(v) == "" {
				return nil
			}
			year, err := fields.ParseYear("made-after", fields.Last(v))
			l.MadeAfter = years.Year(year)
			return err
		},
		Get: func(l *OrderLine) []string { return []string{l.MadeAfter.String()} }},
	fields.Text("maker", "M", "only machines of this maker", registry.MaxName,
		func(l *OrderLine) *string { return &l.Maker }),
	fields.Text("bed", "PATTERN", "only heads of this bed pattern", registry.MaxName,
		func(l *OrderLine) *string { return &l.Bed }),
	fields.Open("stitch", "TYPE", "only machines with this stitch", registry.Stitches,
		func(l *OrderLine) *registry.Stitch { return &l.Stitch }),
	{Name: "watts-max", Value: "WATTS", Usage: "only motors of at most so many watts on their nameplate",
		Set: func(l *OrderLine, v []string) (err error) {
			text := strings.TrimSpace(fields.Last(v))
			if l.WattsMax = 0; text == "" {
				return nil
			}
			if l.WattsMax, err = strconv.Atoi(text); err != nil || l.WattsMax < 1 || l.WattsMax > 100_000 {
				return registry.Errorf(registry.Invalid,
					"watts-max %q is none: type a whole number of watts, such as 100",
					fields.Last(v)).On("watts-max")
			}
			return nil
		},
		Get: func(l *OrderLine) []string {
			if l.WattsMax == 0 {
				return []string{""}
			}
			return []string{strconv.Itoa(l.WattsMax)}
		}},
	{Name: "other-volts", Value: "YES",
		Usage: "yes: machines of other volts or hertz as well, with the work of changing them",
		Set: func(l *OrderLine, v []string) error {
			said, err := registry.OneOf("other-volts", fields.Last(v), []string{"yes", "no"})
			l.OtherVolts = said == "yes"
			return err
		},
		Get: func(l *OrderLine) []string {
			return []string{map[bool]string{true: "yes"}[l.OtherVolts]}
		}},
	{Name: "cord", Value: "M", Usage: "a cord of at least so many metres; another is changed",
		Set: func(l *OrderLine, v []string) (err error) {
			l.Cord, err = electrical.ParseCord("cord", strings.TrimSpace(fields.Last(v)))
			return err
		},
		Get: func(l *OrderLine) []string {
			if l.Cord == 0 {
				return []string{""}
			}
			return []string{electrical.Metres(l.Cord)}
		}},
}

// AddLine asks for more in an order.
func (w *Orders) AddLine(ctx context.Context, by registry.Initials, l *OrderLine) error {
	_, err := w.OnOrder(ctx, by, l.Order, "order line", "",
		func(tx stock.Tx, _ *Order) error { return EnterLine(tx, l) })
	return err
}

// EnterLine adds a line to an open order within an action; it gets its number.
func EnterLine(tx stock.Tx, l *OrderLine) error {
	if l.WattsMax != 0 && l.Wanted != ElectricOne {
		return registry.Errorf(registry.Invalid,
			"watts-max %d is for lines of electric machines, and this one asks for %s: leave it out",
			l.WattsMax, l.Wanted).On("watts-max")
	}
	if l.OtherVolts && l.Wanted != ElectricOne {
		return registry.Errorf(registry.Invalid,
			"other-volts is for lines of electric machines, and this one asks for %s: leave it out",
			l.Wanted).On("other-volts")
	}
	if l.Cord != 0 && l.Wanted != ElectricOne {
		return registry.Errorf(registry.Invalid,
			"cord is for lines of electric machines, and this one asks for %s: leave it out",
			l.Wanted).On("cord")
	}
	lines, err := OrderLines(tx, l.Order)
	if err != nil {
		return err
	}
	l.Line = 1
	if n := len(lines); n > 0 {
		l.Line = lines[n-1].Line + 1
	}
	return tx.Put(l)
}

// NewLine reads what a line asks for and how many.
func NewLine(order, kind, quantity string) (*OrderLine, error) {
	l := &OrderLine{Order: order}
	var err error
	if l.Wanted, err = registry.OneOf("kind", kind, WantedKinds); err != nil {
		return nil, err
	}
	if l.Asked, err = strconv.Atoi(strings.TrimSpace(quantity)); err != nil || l.Asked < 1 ||
		l.Asked > maxSlots {
		return nil, registry.Errorf(registry.Invalid,
			"quantity %q is not one: type a whole number from 1 to %d", quantity, maxSlots)
	}
	return l, nil
}
