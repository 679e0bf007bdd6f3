package packing

import (
	"context"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// CrateLabel is what stands on one crate: which of how many, for whom, what it weighs, and what was scanned
// into it.
type CrateLabel struct {
	Issue
	House   string `json:"house"`
	Order   string `json:"order"`
	Partner string `json:"partner"`
	// counted over what leaves together, as on its packing list
	Crate int `json:"crate"`
	Of    int `json:"of"`
	// nil while a piece is not weighed
	Net   *measure.Mass `json:"net_kg"`
	Gross *measure.Mass `json:"gross_kg"`
	Heavy bool          `json:"heavy"` // not for one person, or nobody knows
	Items []Item        `json:"items"`
	// why it gets no label yet; empty: it is whole
	Lacks string `json:"lacks"`
}

// LabelCrates gives the label of each crate of an order: of what waits, or of what left last. The numbers are
// those of the packing list, which the same function counts. A crate is whole once all of it was scanned into
// it.
func (w *Packing) LabelCrates(ctx context.Context, number, paper string) (crates []CrateLabel, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		var issued PackingList
		if is, err := reprint(r, number, PaperList, paper, &issued); err != nil {
			return err
		} else if is {
			crates = issued.labels(true)
			return nil
		}
		sets, err := delivery(r, number)
		if err == nil && len(sets) == 0 {
			_, _, err = piecesOf(r, number, nil) // says what is to be done
		}
		if err != nil {
			return err
		}
		for _, together := range byShipment(sets) {
			list, err := w.listPacking(r, number, together)
			if err != nil {
				return err
			}
			crates = append(crates, list.labels(false)...)
		}
		return nil
	})
	return crates, err
}

// byShipment parts the places of an order into those that leave together.
func byShipment(sets []promise.OrderSet) (parts [][]promise.OrderSet) {
	at := map[string]int{}
	for _, s := range sets {
		i, ok := at[s.Shipment]
		if !ok {
			i = len(parts)
			at[s.Shipment], parts = i, append(parts, nil)
		}
		parts[i] = append(parts[i], s)
	}
	return parts
}

// labels are those of the crates on a packing list. Of what has left, the list itself is the proof that it
// was packed.
func (p *PackingList) labels(left bool) (crates []CrateLabel) {
	for _, item := range p.Items {
		if len(crates) < item.Crate {
			crates = append(crates, CrateLabel{Issue: p.Issue, House: p.House, Order: p.Order,
				Partner: p.Partner, Crate: item.Crate, Of: p.Crates, Gross: item.Gross})
		}
		c := &crates[len(crates)-1]
		c.Items = append(c.Items, item)
	}
	for i := range crates {
		c := &crates[i]
		net, known := measure.Mass(0), true
		var out []string
		for _, item := range c.Items {
			net, known = net+item.Net, known && item.Net > 0
			if !item.Packed && !left {
				out = append(out, string(item.Tag))
			}
		}
		if known {
			c.Net = &net
		}
		c.Heavy = c.Gross == nil || measure.LiftCaution(*c.Gross, false) != ""
		if len(out) > 0 {
			c.Lacks = "not scanned into it yet: " + strings.Join(out, ", ")
		}
	}
	return crates
}

// NotWhole refuses the label of a crate that lacks something.
func (c *CrateLabel) NotWhole() error {
	if c.Lacks == "" {
		return nil
	}
	return registry.Errorf(registry.Conflict, "crate %d of %d of %s is not whole: %s", c.Crate, c.Of, c.Order,
		c.Lacks).Then(registry.Next(registry.DoPack, "").Of(c.Order))
}
