package packing

import (
	"context"
	"slices"
	"strings"
	"unicode"

	"pitman/registry"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// CareRow is a row of care.csv: one thing that whoever sews on a machine does or minds.
type CareRow struct {
	For  string `csv:"for" json:"for"` // any, or a drive; or caution, for one in another language
	What string `csv:"what" json:"what"`
	Text string `csv:"text" json:"text"`
	// of the text, as partners have it; empty for the house's own
	Language string `csv:"language,omitempty" json:"language,omitempty"`
}

// anyDrive is the care of every machine.
const anyDrive = "any"

// forCaution says a caution, by its name, in the language of those who read it.
const forCaution = "caution"

// Key is what may stand once.
func (c CareRow) Key() string {
	return c.For + " " + strings.ToLower(c.What) + " " + strings.ToLower(c.Language)
}

// Check says what is wrong with the row.
func (c CareRow) Check() error {
	known := c.For == anyDrive || c.For == forCaution ||
		slices.Contains(registry.Drives, registry.Drive(c.For))
	if !known || c.What == "" || c.Text == "" {
		return registry.Errorf(registry.Invalid,
			"for %q, what %q and text %q make no care: type any, treadle, hand, electric or caution, a "+
				"word and "+
				"a sentence", c.For, c.What, c.Text)
	}
	if c.For == forCaution && (registry.Cautions[registry.Caution(c.What)] == "" || c.Language == "") {
		return registry.Errorf(registry.Invalid,
			"caution %q in language %q is none: type needle, moving-parts, oily-rags, lifting or mains, and "+
				"the language that it is written in", c.What, c.Language)
	}
	// it takes the place of a sentence that would stand there
	if c.For == forCaution && !saysSomething(c.Text) {
		return registry.Errorf(registry.Invalid,
			"caution %q in language %q has no words but %q: write the whole caution, or delete the row, "+
				"and it "+
				"stands in the house's own words", c.What, c.Language, c.Text)
	}
	return nil
}

// saysSomething leaves a language without words of several letters its shortest warning, of two signs.
func saysSomething(text string) bool {
	letters := 0
	for _, r := range text {
		if unicode.IsLetter(r) {
			letters++
		}
	}
	return letters > 1
}

// careIn are the rows for those who read a language. What is not written in it, drive by drive, is told in
// the house's own words: better those than nothing.
func careIn(rows []CareRow, language string) (in []CareRow) {
	of := func(for_, language string) (found []CareRow) {
		for _, row := range rows {
			if row.For == for_ && strings.EqualFold(row.Language, language) {
				found = append(found, row)
			}
		}
		return found
	}
	for _, for_ := range append([]string{forCaution, anyDrive}, driveWords()...) {
		found := of(for_, language)
		if len(found) == 0 {
			found = of(for_, "")
		}
		in = append(in, found...)
	}
	return in
}

func driveWords() (words []string) {
	for _, drive := range registry.Drives {
		words = append(words, string(drive))
	}
	return words
}

// CareFor is the care of machines that go out with these drives: what holds for any first, then what each
// drive asks for. Sheets, cards and whatever else tells of care take it from here.
func CareFor(rows []CareRow, drives ...registry.Drive) (care []CareRow) {
	for _, of := range append([]registry.Drive{anyDrive}, drives...) {
		for _, row := range rows {
			if row.For == string(of) {
				care = append(care, row)
			}
		}
	}
	return care
}

// careCautions are those that whoever takes care of a machine meets. They are constants, so that no edit of a
// list loses one: a row says it in another language, and without that row it stands as it is.
var careCautions = map[registry.Drive][]registry.Caution{
	anyDrive:          {registry.CautionNeedle, registry.CautionMoving, registry.CautionRags},
	registry.Treadle:  {registry.CautionLifting},
	registry.Electric: {registry.CautionMains},
}

// cautionsFor are the cautions of machines that go out with these drives.
func cautionsFor(rows []CareRow, drives ...registry.Drive) []string {
	said := []string{}
	for _, of := range append([]registry.Drive{anyDrive}, drives...) {
		for _, caution := range careCautions[of] {
			text := registry.Cautions[caution]
			for _, row := range rows {
				if row.For == forCaution && row.What == string(caution) {
					text = row.Text
				}
			}
			said = append(said, text)
		}
	}
	return said
}

// CareSheet is what goes along for those who will sew: each thing once, whatever the number of machines.
type CareSheet struct {
	Issue
	House    string      `json:"house"`
	Order    string      `json:"order"`
	Partner  string      `json:"partner"`
	Machines []CareGroup `json:"machines"`
	Care     []CareRow   `json:"care"`
	Cautions []string    `json:"cautions"`
}

// CareGroup names the machines of one drive.
type CareGroup struct {
	Drive registry.Drive `json:"drive"`
	Tags  []registry.Tag `json:"tags"`
}

// CareCard is what goes along with one machine.
type CareCard struct {
	Tag      registry.Tag     `json:"tag"`
	Name     string           `json:"name"`
	House    string           `json:"house"`
	Order    string           `json:"order"`
	Drives   []registry.Drive `json:"drives"`
	Language string           `json:"language"` // of the partner; empty: the house's own
	Care     []CareRow        `json:"care"`
	Cautions []string         `json:"cautions"`
}

// Written says whether any of it is in the language of those who get it.
func (c *CareCard) Written() bool {
	return slices.ContainsFunc(c.Care,
		func(row CareRow) bool { return strings.EqualFold(row.Language, c.Language) })
}

// drives are those whose care a machine asks for: a hand machine with a lamp has what takes the mains, too.
func (p *piece) drives() []registry.Drive {
	all := []registry.Drive{p.line.Wanted.Drive()}
	if p.head.TakesMains() && all[0] != registry.Electric {
		all = append(all, registry.Electric)
	}
	return all
}

// Care gives the care sheet of an order: as it was issued, or a draft of what leaves next.
func (w *Packing) Care(ctx context.Context, number, paper string) (*CareSheet, error) {
	return paperOf(ctx, w, number, PaperCare, paper, w.careOf)
}

func (w *Packing) careOf(r stock.Reader, number string, sets []promise.OrderSet) (*CareSheet, error) {
	o, list, err := piecesOf(r, number, sets)
	if err != nil {
		return nil, err
	}
	c := &CareSheet{House: w.Stock.Config.House.Name, Order: o.Number, Partner: o.Partner,
		Machines: []CareGroup{}}
	if c.Issue, err = issueOf(r, o); err != nil {
		return nil, err
	}
	var drives []registry.Drive
	for _, drive := range registry.Drives {
		group := CareGroup{Drive: drive}
		for _, one := range list {
			if slices.Contains(one.drives(), drive) {
				group.Tags = append(group.Tags, one.head.Tag)
			}
		}
		if len(group.Tags) > 0 {
			c.Machines, drives = append(c.Machines, group), append(drives, drive)
		}
	}
	rows, err := stock.Rows(w.Lists.Care)
	rows = careIn(rows, c.Language)
	c.Care, c.Cautions = append([]CareRow{}, CareFor(rows, drives...)...), cautionsFor(rows, drives...)
	return c, err
}

// CareCards gives a card for each machine of what leaves next, or left last: what holds for it alone, in the
// language of those who get it.
func (w *Packing) CareCards(ctx context.Context, number string) (cards []CareCard, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		o, list, err := w.pieces(r, number)
		if err != nil {
			return err
		}
		issue, err := issueOf(r, o)
		if err != nil {
			return err
		}
		rows, err := stock.Rows(w.Lists.Care)
		if err != nil {
			return err
		}
		rows = careIn(rows, issue.Language)
		for _, one := range list {
			drives := one.drives()
			cards = append(cards,
				CareCard{Tag: one.head.Tag, House: w.Stock.Config.House.Name, Order: o.Number,
					Name:   strings.TrimSpace(one.head.Maker + " " + one.head.Model),
					Drives: drives, Language: issue.Language,
					Care:     append([]CareRow{}, CareFor(rows, drives...)...),
					Cautions: cautionsFor(rows, drives...)})
		}
		return nil
	})
	return cards, err
}
