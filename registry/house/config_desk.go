package house

import (
	"time"

	"pitman/registry"
)

// DeskConfig is the [desk] section.
type DeskConfig struct {
	// a shared desk asks who is there after so long without a key; 0 never asks
	IdleMinutes int `toml:"idle_minutes"`
	// the command that prints a PDF, whose name it is given last; "" only writes the file
	Print string `toml:"print"`
}

// validate refuses a desk that would ask all the time, or whose minutes were meant as something else.
func (c DeskConfig) validate() error {
	if c.IdleMinutes < 0 || c.IdleMinutes > 24*60 {
		return registry.Errorf(registry.Invalid,
			"idle_minutes %d in [desk]: give whole minutes from 1 to %d, or 0 for a desk that never asks "+
				"who is there", c.IdleMinutes, 24*60)
	}
	return nil
}

// Idle is how long the desk waits before it asks; 0 is for ever.
func (c DeskConfig) Idle() time.Duration { return time.Duration(c.IdleMinutes) * time.Minute }
