package house

import (
	"pitman/registry"
)

// BackupConfig is the [backup] section.
type BackupConfig struct {
	Keep int `toml:"keep"` // how many dated backups stay in the house's backups folder; 0 keeps all
}

func (c BackupConfig) validate() error {
	if c.Keep < 0 || c.Keep > 10_000 {
		return registry.Errorf(registry.Invalid,
			"keep %d in [backup]: give how many dated backups stay, such as 14, or 0 to keep all", c.Keep)
	}
	return nil
}
