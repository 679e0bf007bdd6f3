package packing

import (
	"slices"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

// CrateConfig is the [crates] section: what goes into which crate, and how the timber is cut.
type CrateConfig struct {
	Kerf      float64 `toml:"kerf_mm"`       // what a saw cut takes away
	Buy       float64 `toml:"buy_mm"`        // length of a new board; 0 = none can be bought
	TopMargin float64 `toml:"top_margin_mm"` // wood left round the opening of a table top
	// footprint of the pallets; ISO 6780 has 1200 × 1000, 1200 × 800 and others
	PalletLength int         `toml:"pallet_length_mm"`
	PalletWidth  int         `toml:"pallet_width_mm"`
	PalletHeight int         `toml:"pallet_height_mm"` // of the bare pallet
	PalletTare   float64     `toml:"pallet_tare_kg"`
	Kinds        []CrateKind `toml:"kind"` // empty = the kinds that the program carries
	// handling marks on their labels, by name, from the corner; absent = those that every crate of machines
	// has
	Marks *[]string `toml:"marks"`
}

// CrateKind is the crate for one kind of line.
type CrateKind struct {
	For       orders.Wanted `toml:"for"`
	Length    float64       `toml:"length_mm"` // outside
	Width     float64       `toml:"width_mm"`
	Height    float64       `toml:"height_mm"`
	LidLength float64       `toml:"lid_length_mm"`
	LidWidth  float64       `toml:"lid_width_mm"`
	Tare      float64       `toml:"tare_kg"`
	PerPallet int           `toml:"per_pallet"` // 0 = not on pallets
	Parts     []CratePart   `toml:"part"`
}

// CratePart is so many equal pieces of timber of one crate.
type CratePart struct {
	Name   string  `toml:"name"`
	Timber string  `toml:"timber"` // what people call boards of its cross-section
	Length float64 `toml:"length_mm"`
	Count  int     `toml:"count"`
}

// builtInCrates are sizes of common practice, for a house that has not measured its own.
func builtInCrates() []CrateKind {
	const board, batten = "board 18 × 95", "batten 38 × 38"
	small := func(of orders.Wanted) CrateKind {
		return CrateKind{For: of, Length: 560, Width: 320, Height: 400, LidLength: 560, LidWidth: 320,
			Tare: 7, PerPallet: 18, Parts: []CratePart{
				{"long slat", board, 560, 12}, {"short slat", board, 284, 6}, {"corner post", batten, 364, 4},
				{"cross batten", batten, 284, 4},
			}}
	}
	return []CrateKind{
		{For: orders.TreadleSet, Length: 1000, Width: 560, Height: 500, LidLength: 1000, LidWidth: 560,
			Tare: 22, PerPallet: 3, Parts: []CratePart{
				{"long slat", board, 1000, 20}, {"short slat", board, 524, 10},
				{"corner post", batten, 464, 4},
				{"cross batten", batten, 524, 6},
			}},
		small(orders.HandMachine), small(orders.ElectricOne),
	}
}

// DefaultConfig holds figures of common practice; a bare pallet of wood is 144 mm high and weighs about 25 kg
// (as the flat wooden pallet of EN 13698 does; from memory).
func DefaultConfig() CrateConfig {
	return CrateConfig{Kerf: 3, Buy: 2400, TopMargin: 60, PalletLength: 1200, PalletWidth: 1000,
		PalletHeight: 144, PalletTare: 25}
}

// CrateFor is the crate for a kind of line.
func (c CrateConfig) CrateFor(of orders.Wanted) (CrateKind, bool) {
	kinds := c.Kinds
	if len(kinds) == 0 {
		kinds = builtInCrates()
	}
	i := slices.IndexFunc(kinds, func(k CrateKind) bool { return k.For == of })
	if i < 0 {
		return CrateKind{}, false
	}
	return kinds[i], true
}

// Validate refuses crates that could not be built.
func (c CrateConfig) Validate() error {
	within := func(value, low, high float64) bool { return value >= low && value <= high } // no NaN is
	for name, value := range map[string]float64{"kerf_mm": c.Kerf, "top_margin_mm": c.TopMargin} {
		if !within(value, 0, 500) {
			return registry.Errorf(registry.Invalid,
				"%s %v in [crates] is no measure: type millimetres from 0 to 500", name, value)
		}
	}
	if c.Buy != 0 && !within(c.Buy, 100, 20_000) {
		return registry.Errorf(registry.Invalid,
			"buy_mm %v in [crates] is no board: type millimetres from 100 to 20000, or 0 if none can be "+
				"bought", c.Buy)
	}
	for name, value := range map[string]int{"pallet_length_mm": c.PalletLength,
		"pallet_width_mm": c.PalletWidth} {
		if value < 200 || value > 2300 {
			return registry.Errorf(registry.Invalid,
				"%s %d in [crates] is no pallet: type millimetres from 200 to 2300", name, value)
		}
	}
	if c.PalletHeight < 0 || c.PalletHeight > 500 || !within(c.PalletTare, 0, 200) {
		return registry.Errorf(registry.Invalid,
			"pallet_height_mm %d with pallet_tare_kg %v in [crates] is no bare pallet: type millimetres from "+
				"0 to 500, and kilograms from 0 to 200", c.PalletHeight, c.PalletTare)
	}
	for i, k := range c.Kinds {
		if !slices.Contains(orders.WantedKinds, k.For) {
			return registry.Errorf(registry.Invalid,
				"for %q in [[crates.kind]] is not known: type treadle-set, hand or electric", string(k.For))
		}
		if slices.ContainsFunc(c.Kinds[:i], func(o CrateKind) bool { return o.For == k.For }) {
			return registry.Errorf(registry.Invalid, "[[crates.kind]] for %s stands twice: take one out",
				k.For)
		}
		for name, value := range map[string]float64{"length_mm": k.Length, "width_mm": k.Width,
			"height_mm": k.Height} {
			if !within(value, 50, 6000) {
				return registry.Errorf(registry.Invalid,
					"%s %v of the crate for %s is no size: type millimetres from 50 to 6000", name, value,
					k.For)
			}
		}
		if !within(k.Tare, 0, 1000) || !within(k.LidLength, 0, 6000) || !within(k.LidWidth, 0, 6000) ||
			k.PerPallet < 0 {
			return registry.Errorf(registry.Invalid,
				"the crate for %s has a negative or absurd tare_kg, lid or per_pallet: correct it", k.For)
		}
		for _, p := range k.Parts {
			if p.Name == "" || p.Timber == "" || !within(p.Length, 1, 20_000) || p.Count < 1 ||
				p.Count > 1000 {
				return registry.Errorf(registry.Invalid,
					"a part of the crate for %s is not whole: it needs name, timber, length_mm and a count "+
						"from 1 to 1000", k.For)
			}
		}
	}
	return nil
}

// BoardRow is one row of boards.csv: timber in hand.
type BoardRow struct {
	Timber string         `csv:"timber" json:"timber"`
	Length measure.Length `csv:"length" json:"length_mm"`
	Count  int            `csv:"count" json:"count"`
}

// Check says what is wrong with the row.
func (b BoardRow) Check() error {
	if b.Timber == "" {
		return registry.Errorf(registry.Invalid,
			"timber is empty: type what boards of this cross-section are called, as in [crates]")
	}
	if !b.Length.Known() {
		return registry.Errorf(registry.Invalid, "length of %q is empty: type it in mm", b.Timber)
	}
	if b.Count < 0 || b.Count > 100_000 {
		return registry.Errorf(registry.Invalid,
			"count %d of %q is none: type a whole number from 0 to 100000", b.Count, b.Timber)
	}
	return nil
}

// MakerCountry is one row of countries.csv: where a maker's machines were made, for the packing list.
type MakerCountry struct {
	Maker   string `csv:"maker" json:"maker"`
	Country string `csv:"country" json:"country"`
}

func (m MakerCountry) Key() string { return stock.MakerKey(m.Maker) }

// Check says what is wrong with the row.
func (m MakerCountry) Check() error {
	if m.Maker == "" || m.Country == "" {
		return registry.Errorf(registry.Invalid, "maker %q has country %q: type both", m.Maker, m.Country)
	}
	return nil
}
