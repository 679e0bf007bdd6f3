// Package exchange moves records between houses: what is told of a unit goes out in a bundle, signed or not,
// and comes in from one as the same history that the other house has. It also writes every kind of record out
// for other programs.
//
// A bundle may be hostile. It is read within bounds, played in a transaction that is taken back unless all of
// it holds, and shown as what it would do before it does anything. Whatever happened in both houses since
// they parted is a clash, and a person decides; what a unit claims must be proved by the records that come
// along, and a pass counts only from a house that this one says it trusts.
package exchange

import (
	"pitman/registry/intake"
	"pitman/registry/stock"
)

// Exchange is the room through which machines come from other houses and go to them, and what a house writes
// out.
type Exchange struct {
	*stock.Stock
	Intake *intake.Intake
}
