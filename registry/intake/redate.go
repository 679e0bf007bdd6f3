package intake

import (
	"context"
	"fmt"

	"pitman/registry"
	"pitman/registry/stock"
	"pitman/serials"
	"pitman/serials/years"
)

// redated dates the machine anew by today's tables. kept is true when none of them has a row for it although
// one dated it before: a table that is absent is no reason to know less, so the machine is left as it is.
func (w *Intake) redated(m *stock.Machine) (fresh stock.Machine, kept bool, err error) {
	answer, err := w.answer(m.Query())
	if err != nil {
		return *m, false, err
	}
	if len(answer.Rows) == 0 && len(m.DatedBy) > 0 && answer.Basis != years.Told {
		return *m, true, nil
	}
	fresh = *m
	fresh.Keep(answer)
	return fresh, false, nil
}

// Lessons lays what is known of the house's machines beside the table rows that hold their numbers. Nothing
// is changed.
func (w *Intake) Lessons(ctx context.Context) ([]serials.Lesson, error) {
	tables, err := w.Tables()
	if err != nil {
		return nil, err
	}
	var witnesses []serials.Witness
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		return r.Machines(stock.MachineFilter{}, func(m *stock.Machine) error {
			one := serials.Witness{Tag: string(m.Tag), Query: m.Query()}
			if m.Known != nil {
				one.Ledger = *m.Known
			}
			witnesses = append(witnesses, one)
			return nil
		})
	})
	return tables.Learn(witnesses), err
}

// UnderTables lists the machines whose year would change under other tables.
func (w *Intake) UnderTables(ctx context.Context, tables *serials.Tables) ([]Redating, error) {
	other := &Intake{Stock: w.Stock, Tables: func() (*serials.Tables, error) { return tables, nil }}
	return other.Stale(ctx)
}

// Redating is a machine whose estimate is no longer what the tables say.
type Redating struct {
	Tag    registry.Tag   `json:"tag"`
	Maker  string         `json:"maker"`
	Serial string         `json:"serial"`
	Was    string         `json:"was"`
	Now    string         `json:"now"`
	Before stock.Estimate `json:"before"`
	After  stock.Estimate `json:"after"`
	Kept   bool           `json:"kept"` // no table here has the row that dated it, so it keeps its year
}

// Stale lists the machines that the present tables would date otherwise. What another house has is dated
// there: a change here would part the two histories, and the machine could not come back.
func (w *Intake) Stale(ctx context.Context) (stale []Redating, err error) {
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		stale, err = w.stale(r)
		return err
	})
	return stale, err
}

// Redate gives the machines that Stale lists their new estimate, in one action. While a table is unread it is
// refused: the machines that the table dates would lose their years.
func (w *Intake) Redate(ctx context.Context, by registry.Initials) (stale []Redating, err error) {
	tables, err := w.Tables()
	if err != nil {
		return nil, err
	}
	for _, u := range tables.Unread() {
		if u.Whole {
			return nil, registry.Errorf(registry.Conflict,
				"%s; until it is, nothing is dated anew: machines that it dates would lose their years", u)
		}
	}
	err = w.Stock.Act(ctx, by, "redate", "", func(tx stock.Tx) error {
		if stale, err = w.stale(tx); err != nil {
			return err
		}
		for _, s := range stale {
			if s.Kept {
				continue
			}
			m, err := stock.MachineByTag(tx, s.Tag)
			if err != nil {
				return err
			}
			fresh, _, err := w.redated(m)
			if err != nil {
				return err
			}
			if err := tx.Put(&fresh); err != nil {
				return err
			}
		}
		return nil
	})
	return stale, err
}

func (w *Intake) stale(r stock.Reader) (stale []Redating, err error) {
	stale = []Redating{}
	n := int64(0)
	err = r.Machines(stock.MachineFilter{Here: true}, func(m *stock.Machine) error {
		if n++; w.Stock.Tick != nil {
			w.Stock.Tick(n)
		}
		fresh, kept, err := w.redated(m)
		if err != nil {
			return fmt.Errorf("%s: %w", m.Tag, err)
		}
		before, after := m.Estimate(), fresh.Estimate()
		if kept || !before.Same(after) {
			stale = append(stale,
				Redating{m.Tag, m.Maker, m.Serial, m.Year(), fresh.Year(), before, after, kept})
		}
		return nil
	})
	return stale, err
}
