package stock

import (
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/electrical"
)

// Config is what of house.toml bears on stock.
type Config struct {
	House    *HouseConfig
	Safety   *electrical.SafetyRules
	Heritage *HeritageConfig
}

// HouseConfig is the [house] section.
type HouseConfig struct {
	Name    string `toml:"name"`
	Letters string `toml:"letters"` // what every tag begins with
	Zone    string `toml:"zone"`    // time zone for the dates people see, by its IANA name
	// of the registry that this file belongs to; empty in files of before, which do not say
	ID string `toml:"id"`

	// who may let in a bundle of a house that is not known; anybody while none is named
	Coordinators []string `toml:"coordinators"`
}

// Coordinator says whether the house names somebody as one.
func (c HouseConfig) Coordinator(who registry.Initials) bool { return who.In(c.Coordinators) }

// Decides refuses somebody who is no coordinator, where the house names some; what is up to them.
func (c HouseConfig) Decides(who registry.Initials, what string) error {
	if len(c.Coordinators) == 0 || c.Coordinator(who) {
		return nil
	}
	return registry.Errorf(registry.Conflict,
		"%s is no coordinator of this house (%s): one of them decides %s", who,
		strings.Join(c.Coordinators, ", "), what)
}

// Validate refuses a name, letters or a zone that nobody could work with, and writes the initials of
// coordinators as they are kept.
func (c HouseConfig) Validate() error {
	if _, err := registry.CleanText("name in [house]", c.Name, registry.MaxName); err != nil {
		return err
	}
	if err := registry.CheckLetters(c.Letters); err != nil {
		return err
	}
	if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "" {
		return registry.Errorf(registry.Invalid,
			"zone %q in [house] is no time zone: use an IANA name such as \"Europe/Lisbon\", or \"UTC\"",
			c.Zone)
	}
	return registry.ParsePeople("coordinators in [house]", c.Coordinators)
}

// Location is the zone in which the house reads its dates.
func (c HouseConfig) Location() *time.Location {
	zone, err := time.LoadLocation(c.Zone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// HeritageConfig is the [heritage] section: which old machines are looked at twice, before what.
type HeritageConfig struct {
	Years int              `toml:"years"`     // age at which a second look is asked; 0 = never
	Asked []registry.Stage `toml:"asked_for"` // ways out for which it is asked
}

// DefaultHeritage is the [heritage] section of a house that decided nothing yet.
func DefaultHeritage() HeritageConfig {
	return HeritageConfig{Years: 100,
		Asked: []registry.Stage{registry.Scrapped, registry.Parts, registry.Shipped}}
}

// Validate refuses ways out that are none.
func (c HeritageConfig) Validate() error {
	for _, s := range c.Asked {
		if !slices.Contains([]registry.Stage{registry.Scrapped, registry.Parts, registry.Sold,
			registry.Shipped}, s) {
			return registry.Errorf(registry.Invalid,
				"asked_for %q in [heritage] is no way out: type scrapped, parts, sold or shipped", s)
		}
	}
	if c.Years < 0 {
		return registry.Errorf(registry.Invalid,
			"years %d in [heritage] is no age: type years such as 100, or 0 to ask never", c.Years)
	}
	return nil
}
