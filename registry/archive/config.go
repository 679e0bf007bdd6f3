package archive

import (
	"filippo.io/age"

	"pitman/registry"
)

// Config is the [backup] section.
type Config struct {
	// how many of the latest dated backups stay, and of as many days the last of each; 0 keeps all
	Keep   int `toml:"keep"`
	Weeks  int `toml:"keep_weeks"`  // of so many weeks the last backup of each stays
	Months int `toml:"keep_months"` // and of so many months

	Also  string   `toml:"also"`       // a second folder, on another disk, that gets each dated backup, too
	ForTo []string `toml:"encrypt_to"` // public keys; none: backups are not encrypted
}

// Defaults is what holds where house.toml says nothing.
func Defaults() Config { return Config{Keep: 14, Weeks: 8, Months: 24} }

// Validate refuses numbers and keys that no backup could be kept by.
func (c Config) Validate() error {
	for _, one := range []struct {
		name string
		n    int
		zero string
	}{{"keep", c.Keep, "to keep all"}, {"keep_weeks", c.Weeks, "for none"},
		{"keep_months", c.Months, "for none"}} {
		if one.n < 0 || one.n > 10_000 {
			return registry.Errorf(registry.Invalid,
				"%s %d in [backup]: give how many dated backups stay, such as 14, or 0 %s",
				one.name, one.n, one.zero)
		}
	}
	_, err := c.recipients()
	return err
}

// recipients are those who can read an encrypted backup.
func (c Config) recipients() (all []age.Recipient, err error) {
	for _, text := range c.ForTo {
		r, err := age.ParseX25519Recipient(text)
		if err != nil {
			return nil, registry.Errorf(registry.Invalid,
				"encrypt_to %.80q in [backup] is no public key (%v): give the line that begins with age1",
				text,
				err)
		}
		all = append(all, r)
	}
	return all, nil
}
