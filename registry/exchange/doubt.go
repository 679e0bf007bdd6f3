package exchange

import (
	"encoding/json"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/stock"
)

// doubts says whether another house tells that nothing on a machine takes the mains any more, of one that
// did, and its word does not count here. That is a competent person's word, so it counts as that house's
// passes do: under a key that house.toml names, for what was done in the very house that signed.
func (w *Exchange) doubts(how Receiving, c *UnitHistory, known int) bool {
	counts := how.Signer != "" && slices.Contains(w.Stock.Config.Safety.PassesFrom, how.Signer)
	var m stock.Machine
	for i := range c.Changes {
		change := &c.Changes[i]
		if change.Kind != registry.UnitMachine {
			continue
		}
		took := m.TakesMains()
		told(&m, change)
		if i < known || !took || m.TakesMains() {
			continue
		}
		letters, _, _ := strings.Cut(origin(how.From, c.action(change.Action)), "/")
		if !counts || letters != how.From {
			return true
		}
	}
	return false
}

// told lets a change say what it says of drive and mains parts. The machine that the changes make has been
// checked; what is no list of parts on the way there says nothing.
func told(m *stock.Machine, change *registry.Change) {
	if v, ok := change.Fields["drive"]; ok {
		drive, _ := v[1].(string)
		m.Drive = registry.Drive(drive)
	}
	if v, ok := change.Fields["mains"]; ok {
		m.Mains = nil
		if text, ok := v[1].(string); ok {
			_ = json.Unmarshal([]byte(text), &m.Mains)
		}
	}
}
