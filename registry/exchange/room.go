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
