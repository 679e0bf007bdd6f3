package packing

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/partners"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// What papers are issued as an order leaves.
const (
	PaperList        = "packing list"
	PaperCertificate = "certificate"
	PaperGift        = "gift letter"
	PaperCare        = "care sheet"
)

// Paper is a paper as it was issued with a delivery: whatever the records say later, it stays what it was.
type Paper struct {
	registry.Row
	ID    string            `json:"paper" db:"ident"`
	Order string            `json:"order" db:"number"`
	What  string            `json:"what" db:"what"`
	At    time.Time         `json:"issued_at" db:"issued_at"`
	By    registry.Initials `json:"issued_by" db:"issued_by"`
	Says  string            `json:"-" db:"says,personal"` // the paper as data
}

// Kind names the table.
func (*Paper) Kind() string { return "order_paper" }

// Subject is the order.
func (p *Paper) Subject() string { return p.Order }

// Issue is what every paper says of itself; without a number it is a draft.
type Issue struct {
	Paper   string            `json:"paper"`
	Day     string            `json:"issued"` // in the house's zone
	At      time.Time         `json:"issued_at,omitzero"`
	By      registry.Initials `json:"issued_by"`
	Address string            `json:"address"` // of the consignee
	Contact string            `json:"contact"`
	Country string            `json:"country"`
	// of those who will sew there; empty: the house's own
	Language string `json:"language"`
}

// issueOf says who gets what an order sends.
func issueOf(r stock.Reader, o *orders.Order) (i Issue, err error) {
	p, err := partners.Named(r, o.Partner)
	if err == nil && p != nil {
		i.Address, i.Contact, i.Country, i.Language = p.Address, p.Contact, p.Country, p.Language
	}
	return i, err
}

// issue keeps the papers of the delivery that leaves in this action.
func (w *Packing) issue(tx stock.Tx, number string, sets []promise.OrderSet) error {
	list, err := w.listPacking(tx, number, sets)
	if err != nil {
		return err
	}
	tests, err := w.certify(tx, number, sets)
	if err != nil {
		return err
	}
	gift, err := w.giftOf(tx, number, sets)
	if err != nil {
		return err
	}
	care, err := w.careOf(tx, number, sets)
	if err != nil {
		return err
	}
	for _, one := range []struct {
		what string
		at   *Issue
		data any
	}{{PaperList, &list.Issue, list}, {PaperCertificate, &tests.Issue, tests},
		{PaperGift, &gift.Issue, gift}, {PaperCare, &care.Issue, care}} {
		n, err := tx.Next("paper")
		if err != nil {
			return err
		}
		a := tx.Action()
		one.at.Paper, one.at.At, one.at.By = "PAPER"+strconv.FormatInt(n, 10), a.At, a.By
		one.at.Day = w.LocalDay(a.At)
		says, err := json.Marshal(one.data)
		if err != nil {
			return err
		}
		if err := tx.Put(&Paper{ID: one.at.Paper, Order: number, What: one.what, At: a.At, By: a.By,
			Says: string(says)}); err != nil {
			return err
		}
	}
	return nil
}

// papersOf lists the papers of an order, oldest first.
func papersOf(r stock.Reader, number string) ([]Paper, error) {
	list := []Paper{}
	return list, r.All(&list, stock.Fields{"number": number})
}

// ListPapers lists the papers that were issued with an order.
func (w *Packing) ListPapers(ctx context.Context, number string) (list []Paper, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if _, err := orders.OrderByNumber(r, number); err != nil {
			return err
		}
		list, err = papersOf(r, number)
		return err
	})
	return list, err
}

// reprint fills in the paper that was issued: the one that is named, or that of the last delivery while
// nothing waits for the next. It says no where a draft has to do.
func reprint(r stock.Reader, number, what, paper string, into any) (issued bool, err error) {
	list, err := papersOf(r, number)
	if err != nil {
		return false, err
	}
	paper = strings.ToUpper(strings.TrimSpace(paper))
	if paper != "" && !strings.HasPrefix(paper, "PAPER") {
		paper = "PAPER" + paper
	}
	named := slices.DeleteFunc(list,
		func(p Paper) bool { return p.What != what || paper != "" && p.ID != paper })
	if paper != "" && len(named) == 0 {
		return false, registry.Errorf(registry.NotFound, "order %s has no %s %s: look which papers it has",
			number, what, paper).On("paper").Then(registry.Next(registry.DoListPapers, "").Of(number))
	}
	if paper == "" {
		wait, err := Waiting(r, number)
		if err != nil || len(wait) > 0 || len(named) == 0 {
			return false, err
		}
	}
	return true, json.Unmarshal([]byte(named[len(named)-1].Says), into)
}

// TariffAge is one row of tariff.csv: a heading that what is certainly older may belong to instead.
type TariffAge struct {
	Above   int    `csv:"years_above" json:"years_above"`
	Heading string `csv:"heading" json:"heading"`
}

// Check says what is wrong with the row.
func (t TariffAge) Check() error {
	if t.Above < 1 || t.Above > 1000 || t.Heading == "" {
		return registry.Errorf(registry.Invalid,
			"years_above %d with heading %q is no rule: type years from 1 to 1000, and a heading", t.Above,
			t.Heading)
	}
	return nil
}

// antiques says which machines may belong to another heading because of their age. Which one it is, a customs
// broker says: the rule is of the Harmonized System, chapter 97, note 5, and asks for more than age.
func (p *PackingList) antiques(rules []TariffAge, heads []piece, year int) {
	for _, rule := range rules {
		var tags []string
		for _, one := range heads {
			if one.head.To != nil && year-*one.head.To > rule.Above {
				tags = append(tags, string(one.head.Tag))
			}
		}
		if len(tags) > 0 {
			p.Notes = append(p.Notes,
				fmt.Sprintf("%s: above %d years old, may belong to heading %s instead: "+
					"ask the customs broker.", strings.Join(tags, ", "), rule.Above, rule.Heading))
		}
	}
}

// caution says a caution once, with all that it is about.
func (p *PackingList) caution(of, text string) {
	for i, c := range p.Cautions {
		if tags, said, ok := strings.Cut(c, ": "); ok && said == text {
			p.Cautions[i] = tags + ", " + of + ": " + text
			return
		}
	}
	p.Cautions = append(p.Cautions, of+": "+text)
}
