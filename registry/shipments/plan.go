package shipments

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pitman/registry/container"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Pallet is what stands on the floor of a container: a pallet with crates, or a crate alone.
type Pallet struct {
	Number   int           `json:"pallet"`
	Order    string        `json:"order"`
	Partner  string        `json:"partner"`
	For      orders.Wanted `json:"for,omitempty"` // of its crates; empty where a person measured it
	Crates   int           `json:"crates"`        // 0 where a person measured it
	Length   int           `json:"length_mm"`
	Width    int           `json:"width_mm"`
	Height   int           `json:"height_mm"`
	Weight   *measure.Mass `json:"weight_kg"` // nil: a piece of it is not weighed
	Measured bool          `json:"measured"`
	Spot     *Spot         `json:"spot"` // nil: the plan has no room for it
	Trouble  string        `json:"trouble,omitempty"`
}

// Spot is where a pallet stands: from the front wall, and from the left side as one looks from the doors.
type Spot struct {
	X      int `json:"from_front_mm"`
	Y      int `json:"from_left_mm"`
	Length int `json:"along_mm"`
	Width  int `json:"across_mm"`
}

// CubicMetres is the room that it takes.
func (p *Pallet) CubicMetres() float64 {
	return float64(p.Length) * float64(p.Width) * float64(p.Height) / 1e9
}

// Plan is how a shipment stands in its container.
type Plan struct {
	Container string       `json:"container"`
	Length    int          `json:"length_mm"`
	Width     int          `json:"width_mm"`
	Height    int          `json:"height_mm"`
	Payload   int          `json:"payload_kg"`
	Pallets   []Pallet     `json:"pallets"`
	Placed    int          `json:"placed"`
	Exact     bool         `json:"exact"` // no plan places more of them
	AtMost    int          `json:"at_most"`
	Floor     float64      `json:"floor"`  // share of it that placed pallets take
	Weight    float64      `json:"weight"` // share of the payload
	Gross     measure.Mass `json:"gross_kg"`
	Unweighed int          `json:"unweighed"` // pallets: they are in no sum
	// from the middle towards the doors, of what is weighed and placed; nil: not known
	Centre *int `json:"centre_of_weight_mm"`
	// so many more of the house's pallets stand beside these, by the floor
	Room    int      `json:"room_for"`
	Unknown []string `json:"unknown"` // orders for whose crates no size is known
	Next    []Option `json:"next"`    // what else is packed, and whether it goes in, by due day
}

// Option is an order that is packed and goes with no shipment yet.
type Option struct {
	Order   string       `json:"order"`
	Partner string       `json:"partner"`
	Due     string       `json:"due"`
	Pallets int          `json:"pallets"`
	Weight  measure.Mass `json:"gross_kg"`
	Fits    bool         `json:"fits"`
	Why     string       `json:"why"`
}

// palletsOf builds the pallets of some places of an order, kind by kind. Orders share no pallet: they may go
// to different doors.
func (w *Shipments) palletsOf(r stock.Reader, o *orders.Order, sets []promise.OrderSet,
	measured []Measured) (list []Pallet, known bool, err error) {
	for _, m := range measured {
		for range m.Count {
			weight := m.Weight
			list = append(list, Pallet{Order: o.Number, Partner: o.Partner, Length: m.Length, Width: m.Width,
				Height: m.Height, Weight: &weight, Measured: true})
		}
	}
	if len(measured) > 0 {
		return list, true, nil
	}
	gross := map[orders.Wanted][]measure.Mass{}
	for i := range sets {
		wanted, weights, err := w.Packing.WeighSet(r, &sets[i])
		if err != nil {
			return nil, false, err
		}
		gross[wanted] = append(gross[wanted], weights.Gross)
	}
	config, known := w.Packing.Config.Crates, true
	for _, wanted := range orders.WantedKinds {
		crates := gross[wanted]
		kind, sized := config.CrateFor(wanted)
		if len(crates) > 0 && !sized {
			known = false
			continue
		}
		for chunk := range slices.Chunk(crates, max(kind.PerPallet, 1)) {
			p := palletOf(config, kind, chunk)
			p.Order, p.Partner = o.Number, o.Partner
			list = append(list, p)
		}
	}
	return list, known, nil
}

// palletOf stacks crates of one kind: as many side by side as the pallet takes, then the next layer. A crate
// that is larger than its pallet stands out over it.
func palletOf(config *packing.CrateConfig, kind packing.CrateKind, gross []measure.Mass) Pallet {
	long, wide := int(math.Ceil(kind.Length)), int(math.Ceil(kind.Width))
	p := Pallet{For: kind.For, Crates: len(gross), Length: long, Width: wide,
		Height: int(math.Ceil(kind.Height))}
	sum, unweighed := measure.Mass(0), false
	for _, g := range gross {
		sum += g
		unweighed = unweighed || g == 0
	}
	if kind.PerPallet > 0 {
		deck := container.Box{Length: config.PalletLength, Width: config.PalletWidth}
		layer := max(container.Fits(deck, long, wide), 1)
		p.Length, p.Width = max(deck.Length, max(long, wide)), max(deck.Width, min(long, wide))
		p.Height = config.PalletHeight + (len(gross)+layer-1)/layer*int(math.Ceil(kind.Height))
		sum += measure.Mass(config.PalletTare * float64(measure.Kilogram))
	}
	if !unweighed {
		p.Weight = &sum
	}
	return p
}

// kindsOf groups pallets by footprint, the largest first, and says which pallets each group has.
func kindsOf(pallets []Pallet) (kinds []container.Kind, of [][]int) {
	order := make([]int, len(pallets))
	for i := range pallets {
		order[i] = i
	}
	area := func(i int) int { return pallets[i].Length * pallets[i].Width }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(area(b), area(a)) })
	for _, i := range order {
		p := &pallets[i]
		k := slices.IndexFunc(kinds,
			func(k container.Kind) bool { return k.Length == p.Length && k.Width == p.Width })
		if k < 0 {
			k = len(kinds)
			kinds, of = append(kinds, container.Kind{Length: p.Length, Width: p.Width}), append(of, nil)
		}
		kinds[k].Count++
		of[k] = append(of[k], i)
	}
	return kinds, of
}

// planOf stands pallets on the floor of a container.
func planOf(box container.Box, pallets []Pallet) *Plan {
	plan := &Plan{Container: box.Name, Length: box.Length, Width: box.Width, Height: box.Height,
		Payload: box.Payload, Pallets: pallets, Unknown: []string{}, Next: []Option{}}
	for i := range pallets {
		p := &pallets[i]
		p.Number = i + 1
		if p.Weight == nil {
			plan.Unweighed++
		} else {
			plan.Gross += *p.Weight
		}
		if p.Height > box.Door {
			p.Trouble = fmt.Sprintf("%d mm high, and the doors of a container may be no higher than %d mm",
				p.Height, box.Door)
		}
	}
	kinds, of := kindsOf(pallets)
	layout := container.Lay(box, kinds)
	plan.Placed, plan.Exact, plan.AtMost = len(layout.Spots), layout.Exact, layout.Bound
	plan.stand(box, layout, of)
	floor := 0
	for i := range pallets {
		p := &pallets[i]
		if p.Spot != nil {
			floor += p.Length * p.Width
		} else {
			p.Trouble = "no room for it on the floor"
		}
	}
	plan.Floor = float64(floor) / float64(box.Length*box.Width)
	plan.Weight = float64(plan.Gross) / float64(measure.Mass(box.Payload)*measure.Kilogram)
	return plan
}

// stand gives each pallet its spot: of equal ones the heaviest nearest to the middle, so that the floor is
// loaded about evenly.
func (p *Plan) stand(box container.Box, layout container.Layout, of [][]int) {
	weight := func(i int) measure.Mass {
		if p.Pallets[i].Weight == nil {
			return 0
		}
		return *p.Pallets[i].Weight
	}
	off := func(s container.Spot) int { return abs(2*s.X + s.Length - box.Length) }
	moment, sum := 0.0, 0.0
	for k, pallets := range of {
		var spots []container.Spot
		for _, s := range layout.Spots {
			if s.Kind == k {
				spots = append(spots, s)
			}
		}
		slices.SortStableFunc(spots, func(a, b container.Spot) int { return cmp.Compare(off(a), off(b)) })
		// What came first keeps its place where not all have one.
		pallets = slices.Clone(pallets[:len(spots)])
		slices.SortStableFunc(pallets, func(a, b int) int { return cmp.Compare(weight(b), weight(a)) })
		for n, i := range pallets {
			s := spots[n]
			p.Pallets[i].Spot = &Spot{s.X, s.Y, s.Length, s.Width}
			kg := weight(i).KG()
			moment += kg * (float64(s.X) + float64(s.Length)/2 - float64(box.Length)/2)
			sum += kg
		}
	}
	if sum > 0 && p.Unweighed == 0 {
		centre := int(math.Round(moment / sum))
		p.Centre = &centre
	}
}

func abs(n int) int { return max(n, -n) }

// maxOptions bounds how many orders are tried beside what is on a shipment: the first by due day.
const maxOptions = 8

// options says of each order that is packed and goes with no shipment whether it goes in beside what is
// there.
func (w *Shipments) options(r stock.Reader, s *Shipment, plan *Plan) error {
	open, err := orders.All(r, orders.OrderOpen)
	if err != nil {
		return err
	}
	slices.SortStableFunc(open, func(a, b orders.Order) int { return cmp.Compare(a.Due, b.Due) })
	for i := range open {
		o := &open[i]
		sets, err := packing.Waiting(r, o.Number)
		if err != nil {
			return err
		}
		sets, err = packedAlone(r, sets)
		if err != nil {
			return err
		}
		if len(sets) == 0 || len(plan.Next) == maxOptions {
			continue
		}
		list, known, err := w.palletsOf(r, o, sets, nil)
		if err != nil {
			return err
		}
		one := Option{Order: o.Number, Partner: o.Partner, Due: o.Due, Pallets: len(list)}
		for _, p := range list {
			if p.Weight != nil {
				one.Weight += *p.Weight
			}
		}
		one.Why = plan.keepsOut(boxes[s.Container], list, known)
		one.Fits = one.Why == ""
		plan.Next = append(plan.Next, one)
	}
	return nil
}

// packedAlone keeps the places that are packed and go with no shipment.
func packedAlone(r stock.Reader, sets []promise.OrderSet) (list []promise.OrderSet, err error) {
	for _, s := range sets {
		missing, err := promise.Unpacked(r, []promise.OrderSet{s})
		if err != nil {
			return nil, err
		}
		if s.Shipment == "" && len(missing) == 0 {
			list = append(list, s)
		}
	}
	return list, nil
}

// keepsOut says why pallets cannot go in beside what is planned, or nothing.
func (p *Plan) keepsOut(box container.Box, list []Pallet, known bool) string {
	gross := p.Gross
	for _, one := range list {
		if one.Weight == nil {
			return "a piece of it is not weighed"
		}
		if one.Height > box.Door {
			return "it is too high for the doors"
		}
		gross += *one.Weight
	}
	switch {
	case !known:
		return "no size is known for its crates"
	case p.Unweighed > 0:
		return "not all that is on the shipment is weighed"
	case gross > measure.Mass(box.Payload)*measure.Kilogram:
		return "it is too heavy beside the rest"
	}
	kinds, _ := kindsOf(slices.Concat(p.Pallets, list))
	if l := container.Lay(box, kinds); len(l.Spots) < len(p.Pallets)+len(list) {
		if l.Exact {
			return "the floor has no room for it"
		}
		return "no room was found for it; whether there is none is not proved"
	}
	return ""
}

// plan reads a shipment's orders and stands their pallets on the floor.
func (w *Shipments) plan(r stock.Reader, s *Shipment) (*Plan, error) {
	var pallets []Pallet
	unknown := []string{}
	for _, on := range s.Orders {
		o, err := orders.OrderByNumber(r, on.Order)
		if err != nil {
			return nil, err
		}
		sets, err := Places(r, s.ID, on.Order)
		if err != nil {
			return nil, err
		}
		list, known, err := w.palletsOf(r, o, sets, on.Measured)
		if err != nil {
			return nil, err
		}
		if !known {
			unknown = append(unknown, o.Number)
		}
		pallets = append(pallets, list...)
	}
	plan := planOf(boxes[s.Container], pallets)
	plan.Unknown = unknown
	if len(plan.Pallets) == 0 {
		plan.Pallets = []Pallet{}
	}
	kinds, _ := kindsOf(pallets)
	plan.Room = container.Room(boxes[s.Container], kinds, w.Packing.Config.Crates.PalletLength,
		w.Packing.Config.Crates.PalletWidth)
	if s.State != Open {
		return plan, nil
	}
	return plan, w.options(r, s, plan)
}

// Troubles says what keeps a plan from being loaded as it is.
func (p *Plan) Troubles() (list []string) {
	for _, one := range p.Pallets {
		if one.Trouble != "" {
			list = append(list, fmt.Sprintf("pallet %d of %s: %s", one.Number, one.Order, one.Trouble))
		}
	}
	if p.Weight > 1 {
		list = append(list, fmt.Sprintf("it weighs %s, and the container carries about %d kg", p.Gross,
			p.Payload))
	}
	return list
}
