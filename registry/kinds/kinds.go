// Package kinds lists every kind of record that is stored. It is the one place that must know all rooms, so
// that what goes through every record, such as a bundle or a replay, need not.
package kinds

import (
	"pitman/registry"
	"pitman/registry/appeals"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/partners"
	"pitman/registry/pictures"
	"pitman/registry/pin"
	"pitman/registry/plates"
	"pitman/registry/promise"
	"pitman/registry/recall"
	"pitman/registry/shipments"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// All makes an empty record of each kind that is stored. Whatever must know all of them, such as a bundle,
// finds them here.
var All = []func() registry.Record{
	func() registry.Record { return &stock.Machine{} },
	func() registry.Record { return &stock.Base{} },
	func() registry.Record { return &bench.Work{} },
	func() registry.Record { return &bench.FunctionTest{} },
	func() registry.Record { return &bench.SafetyTest{} },
	func() registry.Record { return &spares.Spare{} },
	func() registry.Record { return &spares.Supply{} },
	func() registry.Record { return &spares.Need{} },
	func() registry.Record { return &packing.Arrival{} },
	func() registry.Record { return &packing.Paper{} },
	func() registry.Record { return &partners.Partner{} },
	func() registry.Record { return &orders.Order{} },
	func() registry.Record { return &orders.OrderLine{} },
	func() registry.Record { return &promise.OrderSet{} },
	func() registry.Record { return &orders.WorkOrder{} },
	func() registry.Record { return &spares.KitItem{} },
	func() registry.Record { return &pictures.Photo{} },
	func() registry.Record { return &plates.Reading{} },
	func() registry.Record { return &shipments.Shipment{} },
	func() registry.Record { return &appeals.Pledge{} },
	func() registry.Record { return &takings.Taking{} },
	func() registry.Record { return &pin.Record{} },
	func() registry.Record { return &recall.Withdrawal{} },
}

// New makes an empty record of a kind, or nil when there is no such kind.
func New(kind string) registry.Record {
	for _, fresh := range All {
		if rec := fresh(); rec.Kind() == kind {
			return rec
		}
	}
	return nil
}
