// Package offers says what may be done to a unit now, by whom, and why not what may not: it asks the gates of
// all rooms, those that the action itself asks, and has none of its own.
package offers

import (
	"pitman/registry/bench"
	"pitman/registry/packing"
	"pitman/registry/stock"
)

// Offers is the room that others ask what to show.
type Offers struct {
	*stock.Stock
	Bench   *bench.Bench
	Packing *packing.Packing
}
