// Package shelf is where things stand, and what is tied to them: places, a count of a place held against the
// records, and the labels and slips that have to be printed.
//
// A place is a word of the people who put things there; two ways of writing it, in large letters or small,
// are one place. Whoever moves a unit says so here, and no stage changes by it. What a label states is known
// to whoever drew it: the room keeps it as it came, and asks for a judgement of what is stale.
package shelf

import "pitman/registry/stock"

// Shelf is what people do about where heads and bases stand, and about their labels.
type Shelf struct {
	Stock *stock.Stock
}
