package house

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/appeals"
	"pitman/registry/bench"
	"pitman/registry/exchange"
	"pitman/registry/faults"
	"pitman/registry/forget"
	"pitman/registry/imports"
	"pitman/registry/intake"
	"pitman/registry/makers"
	"pitman/registry/movein"
	"pitman/registry/neighbours"
	"pitman/registry/offers"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/partners"
	"pitman/registry/pictures"
	"pitman/registry/pin"
	"pitman/registry/pin/hash"
	"pitman/registry/planning"
	"pitman/registry/plates"
	"pitman/registry/promise"
	"pitman/registry/recall"
	"pitman/registry/reports"
	"pitman/registry/shelf"
	"pitman/registry/shipments"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/story"
	"pitman/registry/takings"
	"pitman/registry/undo"
	"pitman/registry/work"
	"pitman/serials"
)

// Workshop is what can be done in a house: its rooms, put together on one store, one clock and one
// house.toml. Each room's exported methods are actions or questions; whoever holds a Workshop calls them
// without asking in which room they stand.
type Workshop struct {
	Config Config
	Lists  Lists

	// Safekeeping says how well the house is kept; nil for one that is no folder.
	Safekeeping func(context.Context) Safekeeping

	*stock.Stock
	*intake.Intake
	*shelf.Shelf
	*makers.Makers
	*bench.Bench
	*partners.Partners
	*orders.Orders
	*spares.Spares
	*packing.Packing
	*shipments.Shipments
	*neighbours.Neighbours
	*planning.Planning
	*appeals.Appeals
	*takings.Takings
	*work.Works
	*exchange.Exchange
	*imports.Imports
	MovingIn *movein.MoveIn
	*reports.Reports
	*undo.Reversal
	*pin.Pins
	*offers.Offers
	*pictures.Pictures
	*plates.Plates
	*story.Stories
	*recall.Recall
	*forget.Forgetting
	Faulty *faults.Faults
}

// NewWorkshop puts the rooms together. They read the config and the lists of the workshop, so that a change
// of either counts at once.
func NewWorkshop(store stock.Store, config Config, lists Lists, tables func() (*serials.Tables, error),
	now func() time.Time) *Workshop {
	w := &Workshop{Config: config}
	c, l := &w.Config, &w.Lists
	*l = keptLists(lists, c)
	w.Stock = &stock.Stock{Store: store, Now: now, Lists: &l.Stock,
		Config: stock.Config{House: &c.House, Safety: &c.Safety, Heritage: &c.Heritage}}
	w.Intake = &intake.Intake{Stock: w.Stock, Tables: tables}
	w.Pins = &pin.Pins{Stock: w.Stock, Cost: hash.Usual}
	w.Stock.Sign = w.Pins.Check
	w.Stock.Freed = func(tx stock.Tx, tag registry.Tag, why string) error {
		return promise.TakeOut(w.Stock, tx, tag, why)
	}
	w.Makers = &makers.Makers{Stock: w.Stock, Intake: w.Intake}
	w.Bench = &bench.Bench{Stock: w.Stock, Config: &c.Test, Lists: &l.Bench}
	w.Partners, w.Shelf = &partners.Partners{Stock: w.Stock}, &shelf.Shelf{Stock: w.Stock}
	w.Orders = &orders.Orders{Stock: w.Stock, Config: &c.Order, Lists: &l.Orders}
	w.Bench.Retested, w.Stock.Instead = w.Orders.Retested, w.Orders.Instead
	w.Takings, w.Stock.Beside = &takings.Takings{Stock: w.Stock, Currency: &c.Order.Currency}, takings.Enter
	w.Spares = &spares.Spares{Stock: w.Stock, Bench: w.Bench, Orders: w.Orders, Takings: w.Takings,
		Lists: &l.Spares}
	w.Bench.Lacking = w.Spares.Lacking
	w.Packing = &packing.Packing{Stock: w.Stock, Orders: w.Orders, Spares: w.Spares, Lists: &l.Packing,
		Config: packing.Config{Crates: &c.Crates, Fit: &c.Fit, Belt: &c.Belt}}
	w.Shipments = &shipments.Shipments{Stock: w.Stock, Packing: w.Packing}
	w.Neighbours = &neighbours.Neighbours{Stock: w.Stock}
	w.Planning = &planning.Planning{Neighbours: w.Neighbours, Stock: w.Stock, Orders: w.Orders,
		Spares: w.Spares,
		Config: planning.Config{Fit: &c.Fit, Belt: &c.Belt}}
	w.Appeals = &appeals.Appeals{Stock: w.Stock, Planning: w.Planning, Packing: w.Packing}
	w.Works = &work.Works{Stock: w.Stock, Orders: w.Orders, Fit: &c.Fit, Belt: &c.Belt}
	w.Exchange = &exchange.Exchange{Stock: w.Stock, Intake: w.Intake}
	w.Imports = &imports.Imports{Stock: w.Stock, Intake: w.Intake, Lists: &l.Imports}
	w.MovingIn = &movein.MoveIn{Stock: w.Stock, Intake: w.Intake, Orders: w.Orders, Imports: w.Imports}
	w.Reports = &reports.Reports{Stock: w.Stock, Bench: w.Bench, Spares: w.Spares, Orders: w.Orders,
		Packing: w.Packing, Planning: w.Planning, Config: &c.Worklist}
	w.Pictures, w.Faulty = &pictures.Pictures{Stock: w.Stock}, &faults.Faults{Stock: w.Stock}
	w.Plates = &plates.Plates{Stock: w.Stock}
	w.Stories = &story.Stories{Stock: w.Stock, Intake: w.Intake, Pictures: w.Pictures, Jobs: &l.Bench,
		Config: &c.Story}
	w.Recall, w.Reversal = &recall.Recall{Stock: w.Stock}, &undo.Reversal{Stock: w.Stock}
	w.Forgetting = &forget.Forgetting{Stock: w.Stock}
	w.Offers = &offers.Offers{Stock: w.Stock, Bench: w.Bench, Packing: w.Packing}
	return w
}

// Lists reads the house's editable lists, each when it is wanted, by the room whose rules they bear on.
type Lists struct {
	Stock   stock.Lists
	Bench   bench.Lists
	Spares  spares.Lists
	Orders  orders.Lists
	Packing packing.Lists
	Imports imports.Lists
}
