package intake

import (
	"context"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// maxMakers is more makers than a house of any age has.
const maxMakers = 10_000

// KnownMakers lists the makers of the house, the most frequent of the last machines first, then those of the
// tables.
func (w *Intake) KnownMakers(ctx context.Context) ([]string, error) {
	var names []string
	seen := map[string]bool{}
	add := func(all []string) {
		for _, name := range all {
			if key := stock.MakerKey(name); !seen[key] {
				seen[key], names = true, append(names, name)
			}
		}
	}
	err := w.Stock.Store.View(ctx, func(r stock.Reader) error {
		late, err := r.Used(stock.ColumnMaker, "")
		if err != nil {
			return err
		}
		add(namesOf(late))
		all, err := r.Names(stock.ColumnMaker, maxMakers)
		add(all)
		return err
	})
	if err != nil {
		return nil, err
	}
	tables, err := w.Tables()
	if err != nil {
		return nil, err
	}
	add(tables.Makers())
	return names, nil
}

// KnownModels lists what may be this machine's model: first what the table rows of its number say, then the
// maker's models in the house, most frequent first, then those of the tables.
func (w *Intake) KnownModels(ctx context.Context, m *stock.Machine) ([]string, error) {
	var names []string
	add := func(name string) {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	tables, err := w.Tables()
	if err != nil {
		return nil, err
	}
	_, rows, _ := tables.Rows(m.Maker)
	if m.Serial != "" {
		if answer, err := tables.Date(m.Query()); err == nil {
			for _, hit := range answer.Rows {
				for _, row := range rows {
					if row.File == hit.File && row.Line == hit.Line {
						add(row.Model)
					}
				}
			}
		}
	}
	used, err := w.Used(ctx, stock.ColumnModel, stock.MakerKey(m.Maker))
	if err != nil {
		return nil, err
	}
	for _, name := range used {
		add(name)
	}
	for _, row := range rows {
		add(row.Model)
	}
	return names, nil
}

// Used lists what stands in a field of the machines in the house, most frequent first; a maker's key narrows
// it to that maker.
func (w *Intake) Used(ctx context.Context, column stock.Column, makerKey string) (names []string, err error) {
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		used, err := r.Used(column, makerKey)
		names = namesOf(used)
		return err
	})
	return names, err
}

// DoneToday counts what a person did since midnight in the house's zone.
func (w *Intake) DoneToday(ctx context.Context, by registry.Initials) (n int, err error) {
	y, m, d := w.Stock.Now().In(w.Stock.Location()).Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, w.Stock.Location())
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		n, err = r.Done(by, midnight)
		return err
	})
	return n, err
}

func namesOf(named []stock.Named) []string {
	names := make([]string, len(named))
	for i, n := range named {
		names[i] = n.Name
	}
	return names
}

// KnownMarks lists the marks that the tables date this machine's maker by, the maker's own first.
func (w *Intake) KnownMarks(m *stock.Machine) ([]string, error) {
	tables, err := w.Tables()
	if err != nil {
		return nil, err
	}
	var names []string
	for _, c := range tables.Clues(m.Maker) {
		if !slices.Contains(names, c.Mark) {
			names = append(names, c.Mark)
		}
	}
	return names, nil
}
