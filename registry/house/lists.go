package house

import (
	"errors"
	"slices"
	"sync"

	"pitman/registry/bench"
	"pitman/registry/imports"
	"pitman/registry/lists"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// ReadLists are the lists of the house in dir, each read once, when it is first wanted.
func ReadLists(dir string) Lists {
	return Lists{
		Stock: stock.Lists{
			Beds:      readList[stock.BedPattern](dir, "beds.csv"),
			Models:    readList[stock.ModelRow](dir, "models.csv"),
			BaseParts: readList[stock.BasePart](dir, "base-parts.csv"),
			Reasons:   readList[stock.Reason](dir, "reasons.csv"),
		},
		Bench: bench.Lists{
			Jobs:   readList[bench.BenchJob](dir, "jobs.csv"),
			Points: readList[bench.TestPoint](dir, "points.csv"),
		},
		Spares: spares.Lists{
			Kits:  readList[spares.KitRow](dir, "kits.csv"),
			Parts: readList[spares.PartKind](dir, "parts.csv"),
		},
		Orders: orders.Lists{Prices: readList[orders.PurchasePrice](dir, "purchase.csv")},
		Packing: packing.Lists{
			Boards:    readList[packing.BoardRow](dir, "boards.csv"),
			Countries: readList[packing.MakerCountry](dir, "countries.csv"),
			Tariff:    readList[packing.TariffAge](dir, "tariff.csv"),
			Gift:      readList[packing.GiftRow](dir, "gift.csv"),
			Care:      readList[packing.CareRow](dir, "care.csv"),
		},
		Imports: imports.Lists{Columns: readList[imports.ColumnName](dir, "columns.csv")},
	}
}

// readList reads a list at most once; each caller gets a copy that it may cut down.
func readList[T any](dir, name string) func() ([]T, error) {
	var once sync.Once
	var rows []T
	var err error
	return func() ([]T, error) {
		once.Do(func() { rows, err = lists.Load[T](dir, name) })
		return slices.Clone(rows), err
	}
}

func fault[T any](read func() ([]T, error)) func() error {
	return func() error {
		_, err := read()
		return err
	}
}

// CheckLists reads every list that the house can edit and names all faults, one a line.
func (h *House) CheckLists() error { return errors.Join(h.eachList()...) }

func (h *House) eachList() (faults []error) {
	for _, read := range []func() error{
		fault(h.Lists.Bench.Jobs), fault(h.Lists.Bench.Points), fault(h.Lists.Spares.Parts),
		fault(h.Lists.Stock.Reasons),
		fault(h.Lists.Stock.Beds), fault(h.Lists.Stock.Models), fault(h.Lists.Stock.BaseParts),
		fault(h.Lists.Spares.Kits),
		fault(h.Lists.Orders.Prices), fault(h.Lists.Packing.Boards), fault(h.Lists.Packing.Countries),
		fault(h.Lists.Packing.Tariff), fault(h.Lists.Packing.Gift), fault(h.Lists.Packing.Care),
		fault(h.Lists.Imports.Columns),
	} {
		if err := read(); err != nil {
			faults = append(faults, err)
		}
	}
	return faults
}
