package appeals

import (
	"cmp"
	"context"
	"math"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/money"
	"pitman/registry/stock"
)

// PledgeState is what became of a pledge.
type PledgeState string

const (
	PledgeOpen    PledgeState = "open"
	PledgeArrived PledgeState = "arrived"
	PledgeDropped PledgeState = "dropped"
)

// Pledge is what somebody said that they would bring.
type Pledge struct {
	registry.Row
	ID       string            `json:"pledge" db:"ident"`
	What     string            `json:"what" db:"what"`
	WhatKey  string            `json:"-" db:"what_key"`
	Quantity float64           `json:"quantity" db:"quantity"`
	Who      string            `json:"who" db:"who,personal"`
	Day      string            `json:"expected" db:"day"` // "" is not said
	Note     string            `json:"note" db:"note,personal"`
	State    PledgeState       `json:"state" db:"state"`
	At       time.Time         `json:"pledged_at" db:"pledged_at"`
	By       registry.Initials `json:"pledged_by" db:"pledged_by"`
	Ended    string            `json:"ended" db:"ended"` // the day on which it came or was dropped
}

// Kind names the table.
func (*Pledge) Kind() string { return "pledge" }

// Subject is the pledge's number.
func (p *Pledge) Subject() string { return p.ID }

// Letters begin a pledge's number. They are longer than the letters of any house, so no tag looks like one.
const Letters = "PLEDGE"

// NumberOf reads a pledge's number as people type it: PLEDGE1, or 1 alone where one is asked for.
func NumberOf(s string) (number string, ok bool) {
	n, err := strconv.Atoi(strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(s)), Letters))
	return Letters + strconv.Itoa(n), err == nil && n > 0
}

// ByNumber reads a pledge.
func ByNumber(r stock.Reader, id string) (*Pledge, error) {
	p := &Pledge{}
	err := r.Get(p, stock.Fields{"ident": id})
	if registry.CodeOf(err) == registry.NotFound {
		err = registry.Errorf(registry.NotFound, "pledge %s is not in this house", id).On("pledge").
			Then(registry.Next(registry.DoListPledges, ""))
	}
	return p, err
}

// Fields lists what people type about a pledge beside what it is and how much.
var Fields = []fields.Of[Pledge]{
	fields.Text("from", "NAME", "who brings it", registry.MaxText, func(p *Pledge) *string { return &p.Who }),
	{Name: "date", Value: "DATE", Usage: "day by which it comes, such as 2032-03-01",
		Set: func(p *Pledge, v []string) (err error) {
			if p.Day = ""; !registry.Blank(fields.Last(v)) {
				p.Day, err = fields.ParseDay("date", fields.Last(v))
			}
			return err
		},
		Get: func(p *Pledge) []string { return []string{p.Day} }},
	fields.Text("note", "TEXT", "anything else", registry.MaxNote,
		func(p *Pledge) *string { return &p.Note }),
}

func pledgesAt(r stock.Reader, state PledgeState) ([]Pledge, error) {
	list, where := []Pledge{}, stock.Fields{}
	if state != "" {
		where["state"] = state
	}
	return list, r.All(&list, where)
}

// ListPledges lists all pledges, oldest first.
func (w *Appeals) ListPledges(ctx context.Context) (list []Pledge, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		list, err = pledgesAt(r, "")
		return err
	})
	return list, err
}

// AddPledge keeps what somebody will bring; it gets its number.
func (w *Appeals) AddPledge(ctx context.Context, by registry.Initials, p *Pledge, what,
	quantity string) (err error) {
	if p.What, err = registry.CleanText("what", what, registry.MaxText); err != nil {
		return err
	}
	if err := money.Doubt("quantity", quantity); err != nil {
		return err
	}
	p.Quantity, err = strconv.ParseFloat(strings.Replace(strings.TrimSpace(quantity), ",", ".", 1), 64)
	if p.WhatKey = stock.MakerKey(p.What); p.WhatKey == "" {
		return registry.Errorf(registry.Invalid,
			"what %q has no letter or figure: type what is pledged, as the list of needs calls it",
			what).On("what")
	}
	if err != nil || !(p.Quantity > 0 && p.Quantity < 1e9) ||
		math.Abs(p.Quantity*100-math.Round(p.Quantity*100)) > 1e-6 {
		return registry.Errorf(registry.Invalid,
			"quantity %q is none: type a number above 0, such as 3", quantity).On("quantity")
	}
	if p.Who == "" {
		return registry.Errorf(registry.Invalid, "from is missing: type who brings it").On("from")
	}
	return w.Act(ctx, by, "pledge", "", func(tx stock.Tx) error {
		n, err := tx.Next("pledge")
		if err != nil {
			return err
		}
		p.ID, p.State, p.At, p.By = Letters+strconv.FormatInt(n, 10), PledgeOpen, tx.Action().At, by
		return tx.Put(p)
	})
}

// EndPledge notes that a pledge came, or will not. What came is logged or counted where its kind is.
func (w *Appeals) EndPledge(ctx context.Context, by registry.Initials, number, day, why string,
	state PledgeState) (p *Pledge, err error) {
	id, ok := NumberOf(number)
	if !ok {
		return nil, registry.Errorf(registry.Invalid,
			"pledge %q is no pledge's number: type it as PLEDGE3, or 3", number).On("pledge").
			Then(registry.Next(registry.DoListPledges, ""))
	}
	err = w.Act(ctx, by, "pledge "+string(state), why, func(tx stock.Tx) error {
		if p, err = ByNumber(tx, id); err != nil {
			return err
		}
		if p.State != PledgeOpen {
			return registry.Errorf(registry.Conflict, "%s %s on %s already", p.ID,
				map[PledgeState]string{PledgeArrived: "arrived", PledgeDropped: "was dropped"}[p.State],
				p.Ended)
		}
		today := w.LocalDay(tx.Action().At)
		if p.Ended = cmp.Or(day, today); p.Ended > today {
			return registry.Errorf(registry.Invalid,
				"date %s lies ahead of today, %s: type the day on which it "+
					"came", p.Ended, today).On("date")
		}
		p.State = state
		return tx.Put(p)
	})
	return p, err
}
