package packing

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/crate"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/recall"
	"pitman/registry/stock"
)

// Headings of the Harmonized System. Source: World Customs Organization, HS 8452.
const (
	headingHead = "8452.10" // household sewing machines
	headingBase = "8452.90" // furniture, bases, covers and other parts of sewing machines
)

// notKnown stands on a paper where the house has no answer: better seen than silently left out.
const notKnown = "not known"

// Item is one piece on a packing list.
type Item struct {
	Crate   int          `json:"crate"` // pieces with the same number share one
	Tag     registry.Tag `json:"tag"`
	What    string       `json:"what"` // head or base
	Name    string       `json:"name"`
	Serial  string       `json:"serial"`
	Year    string       `json:"year"`
	Drive   string       `json:"drive"` // how it leaves
	State   string       `json:"condition"`
	Heading string       `json:"tariff_heading"`
	Country string       `json:"country_of_origin"`
	Value   *float64     `json:"declared_value"` // of all in the crate, on its first piece
	Net     measure.Mass `json:"net_kg"`
	// of the crate, on its first piece; nil while a piece is not weighed
	Gross  *measure.Mass `json:"gross_kg"`
	Packed bool          `json:"packed"`
}

// PackingList is what goes along with a shipment.
type PackingList struct {
	Issue
	House      string       `json:"house"`
	Order      string       `json:"order"`
	Partner    string       `json:"partner"`
	Due        string       `json:"due"`
	Supply     string       `json:"supply"`
	Currency   string       `json:"currency"`    // of the declared values: the house's
	Rate       string       `json:"rate"`        // as a person entered it on the order; empty: none
	TimberMark string       `json:"timber_mark"` // ISPM 15 mark on the crates' timber
	Items      []Item       `json:"items"`
	Crates     int          `json:"crates"`
	Value      float64      `json:"declared_value"`
	NoValue    int          `json:"no_value"` // crates of a kind for which the house declares none
	Net        measure.Mass `json:"net_kg"`
	Unweighed  int          `json:"unweighed"` // pieces whose weight nobody knows: they are in no total
	Fill       crate.Fill   `json:"load"`
	Cautions   []string     `json:"cautions"`
	Notes      []string     `json:"notes"` // for the customs
}

// piece is what a place of an order holds.
type piece struct {
	set  promise.OrderSet
	line orders.OrderLine
	head stock.Machine
	base *stock.Base
}

// delivery lists the places of what leaves next or, when nothing waits, of what left last.
func delivery(r stock.Reader, number string) ([]promise.OrderSet, error) {
	sets, err := Waiting(r, number)
	if err != nil || len(sets) > 0 {
		return sets, err
	}
	all, err := promise.OrderSets(r, number)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	last := slices.MaxFunc(all,
		func(a, b promise.OrderSet) int { return a.ShippedAt.Compare(b.ShippedAt) }).ShippedAt
	return slices.DeleteFunc(all, func(s promise.OrderSet) bool { return !s.ShippedAt.Equal(last) }), nil
}

// pieces reads an order and what of it leaves next, or left last.
func (w *Packing) pieces(r stock.Reader, number string) (o *orders.Order, list []piece, err error) {
	sets, err := delivery(r, number)
	if err != nil {
		return nil, nil, err
	}
	return piecesOf(r, number, sets)
}

// piecesOf reads an order and what fills some places of it.
func piecesOf(r stock.Reader, number string, sets []promise.OrderSet) (o *orders.Order, list []piece,
	err error) {
	if o, err = orders.OrderByNumber(r, number); err != nil {
		return o, nil, err
	}
	lines, err := orders.OrderLines(r, number)
	if err != nil {
		return o, nil, err
	}
	for _, set := range sets {
		p := piece{set: set}
		for _, l := range lines {
			if l.Line == set.Line {
				p.line = l
			}
		}
		m, err := stock.MachineByTag(r, set.Head)
		if err != nil {
			return o, nil, err
		}
		p.head = *m
		if set.Base != "" {
			if p.base, err = stock.BaseByTag(r, set.Base); err != nil {
				return o, nil, err
			}
		}
		list = append(list, p)
	}
	if len(list) == 0 {
		err = registry.Errorf(registry.Conflict, "nothing is on order %s: fill it from stock", number).
			Then(registry.Next(registry.DoReserve, ""))
	}
	return o, list, err
}

// paperOf gives a paper of an order: as it was issued, or a draft of what leaves next.
func paperOf[T any](ctx context.Context, w *Packing, number, kind, paper string,
	draft func(stock.Reader, string, []promise.OrderSet) (*T, error)) (p *T, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		p = new(T)
		if issued, err := reprint(r, number, kind, paper, p); err != nil || issued {
			return err
		}
		sets, err := delivery(r, number)
		if err == nil {
			p, err = draft(r, number, sets)
		}
		return err
	})
	return p, err
}

// ListPacking gives the packing list of an order: as it was issued, or a draft of what leaves next.
func (w *Packing) ListPacking(ctx context.Context, number, paper string) (*PackingList, error) {
	return paperOf(ctx, w, number, PaperList, paper, w.listPacking)
}

func (w *Packing) listPacking(r stock.Reader, number string, sets []promise.OrderSet) (*PackingList, error) {
	o, list, err := piecesOf(r, number, sets)
	if err != nil {
		return nil, err
	}
	countries := map[string]string{}
	if w.Lists.Countries != nil {
		rows, err := w.Lists.Countries()
		if err != nil {
			return nil, err
		}
		for _, row := range rows {
			countries[stock.MakerKey(row.Maker)] = row.Country
		}
	}
	country := func(maker string) string { return cmp.Or(countries[stock.MakerKey(maker)], notKnown) }
	p := &PackingList{House: w.Stock.Config.House.Name, Order: o.Number, Partner: o.Partner, Due: o.Due,
		Supply:   string(o.Supply),
		Currency: w.Orders.Config.Currency, Rate: o.Rate, TimberMark: o.TimberMark, Items: []Item{},
		Cautions: []string{}}
	if p.Issue, err = issueOf(r, o); err != nil {
		return nil, err
	}
	var loads []crate.Load
	for i, one := range list {
		p.Crates = i + 1
		m := &one.head
		items := []Item{{What: "head", Tag: m.Tag, Name: strings.TrimSpace(m.Maker + " " + m.Model),
			Serial: m.Serial, Year: m.Year(),
			Drive: string(one.line.Wanted.Drive()), Heading: headingHead, Country: country(m.Maker),
			Net: m.Weight, Packed: inCrate(m.Stage)}}
		if b := one.base; b != nil {
			items = append(items,
				Item{What: "base", Tag: b.Tag, Name: b.Name(), Serial: "none", Year: notKnown,
					Drive:   string(registry.Treadle),
					Heading: headingBase, Country: country(b.Maker), Net: b.Weight, Packed: inCrate(b.Stage)})
		}
		loads = append(loads, p.add(w, one.line.Wanted, items))
	}
	p.Fill = crate.FillOf(loads, w.Config.Crates.PalletLength, w.Config.Crates.PalletWidth)
	if err := orders.CheckTimberMark(p.TimberMark); err != nil { // kept before the form was checked
		p.Notes = append(p.Notes, err.Error()+".")
	}
	rules, err := stock.Rows(w.Lists.Tariff)
	p.antiques(rules, list, w.Now().In(w.Location()).Year())
	return p, err
}

// inCrate leaves out what is reserved, and what was held since.
func inCrate(s registry.Stage) bool { return s == registry.Packed || s == registry.Shipped }

// add puts the pieces of one crate onto the list.
func (p *PackingList) add(w *Packing, wanted orders.Wanted, items []Item) crate.Load {
	kind, _ := w.Config.Crates.CrateFor(wanted)
	load := crate.Load{Kind: string(wanted), Count: 1, PerPallet: kind.PerPallet, Size: crate.Size{
		Length: measure.MM(kind.Length), Width: measure.MM(kind.Width), Height: measure.MM(kind.Height)}}
	var weights []measure.Mass
	for i := range items {
		item := &items[i]
		item.Crate, item.State = p.Crates, "used"
		weights = append(weights, item.Net)
		if caution := measure.LiftCaution(item.Net, item.What == "base"); caution != "" {
			p.caution(string(item.Tag), caution)
		}
	}
	sum := w.Weigh(wanted, weights...)
	p.Net += sum.Net
	p.Unweighed += sum.Unweighed
	if load.Gross = sum.Gross; load.Gross > 0 {
		items[0].Gross = &load.Gross
		if caution := measure.LiftCaution(load.Gross, false); caution != "" {
			p.caution(fmt.Sprintf("crate %d", p.Crates), caution)
		}
	}
	if value, ok := w.Orders.Config.Declared[wanted]; ok {
		items[0].Value = &value
		p.Value += value
	} else {
		p.NoValue++
	}
	p.Items = append(p.Items, items...)
	return load
}

// Certificate is what was tested on the machines of an order, when and by whom. It repeats records and
// promises nothing.
type Certificate struct {
	Issue
	House   string         `json:"house"`
	Order   string         `json:"order"`
	Partner string         `json:"partner"`
	Tested  []TestedRecord `json:"machines"`
}

// TestedRecord is one machine's tests.
type TestedRecord struct {
	Tag      registry.Tag      `json:"tag"`
	Name     string            `json:"name"`
	Serial   string            `json:"serial"`
	Year     string            `json:"year"`
	Drive    string            `json:"drive"`
	TestedAt string            `json:"function_test"` // day
	TestedBy registry.Initials `json:"function_test_by"`
	SafetyAt string            `json:"safety_test,omitempty"`
	SafetyBy registry.Initials `json:"safety_test_by,omitempty"`
	// letters of the house that tested it, when that is another one
	SafetyIn string `json:"safety_test_house,omitempty"`
	// why its pass was withdrawn since
	SafetyWithdrawn string `json:"safety_test_withdrawn,omitempty"`
	Class           string `json:"class,omitempty"`
}

// CertificateNote stands under every certificate.
const CertificateNote = "This sheet repeats what was recorded, on the day named, by the person named. It " +
	"does not declare a machine safe: before an electric machine is used, have it tested again where it " +
	"goes, as local codes ask, by a licensed or otherwise competent person."

// Certify gives the certificate sheet of an order: as it was issued, or a draft of what leaves next.
func (w *Packing) Certify(ctx context.Context, number, paper string) (c *Certificate, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		c = &Certificate{}
		if issued, err := reprint(r, number, PaperCertificate, paper, c); err != nil || issued {
			return errors.Join(err, w.withdrawnSince(r, c))
		}
		sets, err := delivery(r, number)
		if err == nil {
			c, err = w.certify(r, number, sets)
		}
		return err
	})
	return c, err
}

// withdrawnSince adds to a certificate what nobody may miss: a pass on it that was withdrawn after it was
// issued.
func (w *Packing) withdrawnSince(r stock.Reader, c *Certificate) error {
	for i := range c.Tested {
		if c.Tested[i].SafetyAt == "" {
			continue
		}
		m, err := stock.MachineByTag(r, c.Tested[i].Tag)
		if err != nil {
			return err
		}
		if c.Tested[i].SafetyWithdrawn, err = recall.Withdrawn(r, m, w.LocalDay); err != nil {
			return err
		}
	}
	return nil
}

func (w *Packing) certify(reader stock.Reader, number string, sets []promise.OrderSet) (*Certificate,
	error) {
	o, list, err := piecesOf(reader, number, sets)
	if err != nil {
		return nil, err
	}
	c := &Certificate{House: w.Stock.Config.House.Name, Order: o.Number, Partner: o.Partner,
		Tested: []TestedRecord{}}
	if c.Issue, err = issueOf(reader, o); err != nil {
		return nil, err
	}
	for _, one := range list {
		m := &one.head
		r := TestedRecord{Tag: m.Tag, Name: strings.TrimSpace(m.Maker + " " + m.Model), Serial: m.Serial,
			Year:  m.Year(),
			Drive: string(one.line.Wanted.Drive()), TestedAt: w.LocalDay(m.TestedAt), TestedBy: m.TestedBy}
		if m.TakesMains() {
			r.SafetyAt, r.SafetyBy, r.Class = w.LocalDay(m.SafetyAt), m.SafetyBy, m.Class
			if r.SafetyIn, err = bench.PassHouse(reader, m); err == nil {
				r.SafetyWithdrawn, err = recall.Withdrawn(reader, m, w.LocalDay)
			}
			if err != nil {
				return nil, err
			}
		}
		c.Tested = append(c.Tested, r)
	}
	return c, nil
}
