package house

import (
	"maps"
	"slices"

	"pitman/registry"
)

// PrinterConfig is a [printer.NAME] section: what labels take to come out right on one printer.
type PrinterConfig struct {
	Right float64 `toml:"right"` // mm by which all of a page is moved, to the left if negative
	Down  float64 `toml:"down"`  // and down, or up
	DPI   int     `toml:"dpi"`   // 0 = as the stock says
	Mono  *bool   `toml:"mono"`  // nil = as the stock says
	Stock string  `toml:"stock"` // that lies in it; empty = the house's usual one
	// what it is sent: pdf, or zpl or escpos, the languages of label printers; empty = pdf
	Language string `toml:"language"`
	Copies   int    `toml:"copies"` // of each label; 0 = one
}

// MaxCopies bounds a slip of the finger.
const MaxCopies = 50

const maxShift = 25 // mm: more is another sheet than the one that is meant

func (c Config) checkPrinters() error {
	for _, name := range slices.Sorted(maps.Keys(c.Printer)) {
		p := c.Printer[name]
		for _, way := range []struct {
			name string
			mm   float64
		}{{"right", p.Right}, {"down", p.Down}} {
			if !(way.mm >= -maxShift && way.mm <= maxShift) {
				return registry.Errorf(registry.Invalid,
					"%s %v in [printer.%s] is no small correction: type mm between -%d and %d, as measured "+
						"on a test sheet",
					way.name, way.mm, name, maxShift, maxShift)
			}
		}
		if p.DPI != 0 && (p.DPI < 72 || p.DPI > 600) {
			return registry.Errorf(registry.Invalid, "dpi %d in [printer.%s]: type 72 to 600", p.DPI, name)
		}
		if p.Language != "" && !slices.Contains(PrinterLanguages, p.Language) {
			return registry.Errorf(registry.Invalid,
				"language %q in [printer.%s] is not known: type pdf, zpl "+
					"or escpos", p.Language, name)
		}
		if p.Copies < 0 || p.Copies > MaxCopies {
			return registry.Errorf(registry.Invalid, "copies %d in [printer.%s]: type 1 to %d", p.Copies,
				name, MaxCopies)
		}
	}
	return nil
}

// PrinterLanguages are what a printer may be sent.
var PrinterLanguages = []string{"pdf", "zpl", "escpos"}
