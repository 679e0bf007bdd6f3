// Package cargo lays out what goes along with machines on their way: the label of a crate with its handling
// marks, and the card of care that lies by a machine.
package cargo

import (
	"fmt"
	"strings"

	"pitman/labels"
	"pitman/labels/letters"
)

// Crate is what stands on the label of a crate.
type Crate struct {
	Order      string
	Number, Of int
	To         string   // the consignee
	Address    []string // of the consignee, line by line
	From       string
	Net, Gross string // such as "24.5 kg"; empty where it is not known
	Heavy      bool   // not for one person, or nobody knows
	Tags       []string
	Holds      []string // what each of the tags is
	Marks      []Mark
}

// Marks smaller than this are not seen from a forklift; ISO 780 has them 100 mm high and more where there is
// room, and smaller on small packages (from memory).
const leastMark = 9.0

// Draw lays the label out on a stock. The marks stand in its upper left corner; of the words those that the
// carrier needs are never left out: a stock that cannot hold them is refused.
func (c Crate) Draw(stock labels.Stock, s *labels.Scheme, on labels.Device) (*labels.Drawing, error) {
	for _, m := range c.Marks {
		if err := m.Validate(); err != nil {
			return nil, err
		}
	}
	face, err := c.face(s)
	if err != nil {
		return nil, err
	}
	if len(c.Marks) == 0 {
		return labels.Draw(face, stock, s, on)
	}
	pad := min(max(min(stock.LabelWidth, stock.LabelHeight)*0.05, 1.5), 3)
	gap := 1 + pad/2
	side := min(stock.LabelHeight*0.24, (stock.LabelWidth-2*pad+gap)/float64(len(c.Marks))-gap, 60)
	if stock.Hole > 0 {
		return nil, fmt.Errorf("crate labels are glued or nailed on: %s has a hole, choose one without",
			stock.Name)
	}
	if side < leastMark {
		return nil, fmt.Errorf("%s: label %s is too small: its handling marks would be %.1f mm high, and %g "+
			"mm is the least: choose a larger one", face.Headline, stock.Name, side, leastMark)
	}
	below := stock
	below.LabelHeight -= side + pad
	words, err := labels.Draw(face, below, s, on)
	if err != nil {
		return nil, err
	}
	d := &labels.Drawing{Width: stock.LabelWidth, Height: stock.LabelHeight}
	for i, m := range c.Marks {
		m.draw(d, pad+float64(i)*(side+gap), pad, side)
	}
	d.Place(words, 0, side+pad)
	return d, nil
}

// face lays down the words. Its symbol is that of the first machine in the crate: whoever scans it sees what
// it is, for whom, and what goes with it.
func (c Crate) face(s *labels.Scheme) (*labels.Face, error) {
	f := &labels.Face{Headline: fmt.Sprintf("%d of %d", c.Number, c.Of)}
	if len(c.Tags) > 0 {
		first, err := labels.Blank{Tag: c.Tags[0]}.Face(s)
		if err != nil {
			return nil, err
		}
		f.Payload = first.Payload
	}
	known := func(weight string) string {
		if weight == "" {
			return "not known"
		}
		return weight
	}
	if c.Heavy && c.Gross == "" {
		f.Lines = append(f.Lines,
			labels.Line{Text: "weight not known: two people lift", Strong: true, Caution: true})
	} else if c.Heavy {
		f.Lines = append(f.Lines,
			labels.Line{Text: c.Gross + ": two people lift", Strong: true, Caution: true})
	}
	needed := func(strong bool, text string) {
		if text = letters.Clean(text); text != "" {
			f.Lines = append(f.Lines, labels.Line{Text: text, Strong: strong, Needed: true})
		}
	}
	needed(true, "to "+c.To)
	needed(false, strings.Join(c.Address, ", "))
	needed(true, fmt.Sprintf("net %s · gross %s", known(c.Net), known(c.Gross)))
	needed(false, c.Order+": "+strings.Join(c.Tags, ", "))
	needed(false, "from "+c.From)
	for _, held := range c.Holds {
		if held = letters.Clean(held); held != "" {
			f.Lines = append(f.Lines, labels.Line{Text: held})
		}
	}
	return f, nil
}
