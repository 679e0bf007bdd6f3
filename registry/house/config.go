package house

import (
	"time"
	_ "time/tzdata" // a house's zone is known on machines without a zone database, too

	"pitman/registry/archive"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/fit"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/reports"
	"pitman/registry/stock"
	"pitman/registry/story"
)

// Config is what a house decides for itself, in house.toml. Defaults holds for all that it leaves out. Each
// section stands with the rules that read it.
type Config struct {
	House    stock.HouseConfig      `toml:"house"`
	Backup   archive.Config         `toml:"backup"`
	Fit      fit.FitConfig          `toml:"fit"`
	Belt     fit.BeltConfig         `toml:"belt"`
	Desk     DeskConfig             `toml:"desk"`
	Test     bench.TestConfig       `toml:"test"`
	Safety   electrical.SafetyRules `toml:"safety"`
	Heritage stock.HeritageConfig   `toml:"heritage"`
	Worklist reports.WorklistConfig `toml:"worklist"`
	Order    orders.OrderConfig     `toml:"order"`
	Crates   packing.CrateConfig    `toml:"crates"`
	Story    story.StoryConfig      `toml:"story"`

	// Scheme is the [scheme] section: what labels look like. It bears on no rule, so it is passed on as it
	// stands.
	Scheme map[string]any `toml:"scheme"`

	Printer map[string]PrinterConfig `toml:"printer"`
}

// Defaults is the house.toml of a house that decided nothing yet.
func Defaults() Config {
	c := Config{
		House:    stock.HouseConfig{Name: "Our workshop", Letters: "PM", Zone: "UTC"},
		Backup:   archive.Defaults(),
		Desk:     DeskConfig{IdleMinutes: 10},
		Test:     bench.DefaultConfig(),
		Safety:   electrical.DefaultRules(),
		Heritage: stock.DefaultHeritage(),
		Worklist: reports.DefaultConfig(),
		Order:    orders.DefaultConfig(),
		Crates:   packing.DefaultConfig(),
		Story:    story.DefaultConfig(),
	}
	c.Fit, c.Belt = fit.DefaultConfig()
	return c
}

// Validate refuses a house.toml that the rules could not work with.
func (c Config) Validate() error {
	for _, section := range []func() error{
		c.House.Validate, c.Backup.Validate, func() error { return fit.CheckConfig(c.Fit, c.Belt) },
		c.Desk.validate, c.Test.Validate,
		c.Safety.Validate, c.Heritage.Validate, c.Worklist.Validate, c.Order.Validate, c.Crates.Validate,
		c.Story.Validate, c.checkPrinters,
	} {
		if err := section(); err != nil {
			return err
		}
	}
	return nil
}

// Location is the zone in which the house reads its dates.
func (c Config) Location() *time.Location { return c.House.Location() }

// Waived says which safeguards this house does without, by its own decision: no fault, and yet to be known to
// whoever relies on its records.
func (c *Config) Waived() (notes []string) {
	if c.Safety.WithoutPIN {
		notes = append(notes,
			"nobody signs with a PIN here, so a safety pass rests on initials alone: house.toml says so "+
				"under [safety] without_pin")
	}
	return notes
}
