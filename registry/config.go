package registry

import (
	"time"
	_ "time/tzdata" // a house's zone is known on machines without a zone database, too
)

// Config is what a house decides for itself, in house.toml. Defaults holds for all that it leaves out.
type Config struct {
	House    HouseConfig    `toml:"house"`
	Backup   BackupConfig   `toml:"backup"`
	Fit      FitConfig      `toml:"fit"`
	Belt     BeltConfig     `toml:"belt"`
	Desk     DeskConfig     `toml:"desk"`
	Test     TestConfig     `toml:"test"`
	Safety   SafetyRules    `toml:"safety"`
	Heritage HeritageConfig `toml:"heritage"`
	Worklist WorklistConfig `toml:"worklist"`
	Order    OrderConfig    `toml:"order"`
	Crates   CrateConfig    `toml:"crates"`

	// Scheme is the [scheme] section: what labels look like. It bears on no rule, so it is passed on as it stands.
	Scheme map[string]any `toml:"scheme"`
}

// HouseConfig is the [house] section.
type HouseConfig struct {
	Name    string `toml:"name"`
	Letters string `toml:"letters"` // what every tag begins with
	Zone    string `toml:"zone"`    // time zone for the dates people see, by its IANA name
}

// Defaults is the house.toml of a house that decided nothing yet.
func Defaults() Config {
	c := Config{
		House:  HouseConfig{Name: "Our workshop", Letters: "PM", Zone: "UTC"},
		Backup: BackupConfig{Keep: 14},
		Desk:   DeskConfig{IdleMinutes: 10},
	}
	c.setFitDefaults()
	c.setGateDefaults()
	c.setOrderDefaults()
	c.setCrateDefaults()
	return c
}

// Validate refuses a house.toml that the rules could not work with.
func (c Config) Validate() error {
	if _, err := cleanText("name in [house]", c.House.Name, maxName); err != nil {
		return err
	}
	if err := CheckLetters(c.House.Letters); err != nil {
		return err
	}
	if _, err := time.LoadLocation(c.House.Zone); err != nil || c.House.Zone == "" {
		return Errorf(Invalid, "zone %q in [house] is no time zone: use an IANA name such as \"Europe/Lisbon\", or \"UTC\"", c.House.Zone)
	}
	if err := c.validateFit(); err != nil {
		return err
	}
	if err := c.Backup.validate(); err != nil {
		return err
	}
	if err := c.Desk.validate(); err != nil {
		return err
	}
	if err := c.validateOrder(); err != nil {
		return err
	}
	if err := c.validateCrates(); err != nil {
		return err
	}
	return c.validateGates()
}

// Location is the zone in which the house reads its dates.
func (c Config) Location() *time.Location {
	zone, err := time.LoadLocation(c.House.Zone)
	if err != nil {
		return time.UTC
	}
	return zone
}
