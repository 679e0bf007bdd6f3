// Package undo takes actions back: the old values are put back as an action of its own, unless others have
// built on them, and no rule lets more come back than it would let in.
package undo

import "pitman/registry/stock"

// Reversal is the room where actions are taken back.
type Reversal struct{ *stock.Stock }
