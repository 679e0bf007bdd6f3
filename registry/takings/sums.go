package takings

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/money"
	"pitman/registry/stock"
	"pitman/serials/names"
)

// Sum is what one way out brought in one currency.
type Sum struct {
	Way      Way          `json:"way"`
	Currency string       `json:"currency"`
	Brought  money.Amount `json:"brought"`
	Entries  int          `json:"entries"` // that it is the sum of; what nobody entered is in none
}

// Metal is how much scrap of one metal left.
type Metal struct {
	Metal     string       `json:"metal"`
	Weight    measure.Mass `json:"weight_kg"`
	Unweighed int          `json:"not_weighed"` // entries without a weight
}

// Summed adds up what was entered from one time on and before another, by way and currency, and scrap by
// metal.
func Summed(r stock.Reader, from, to time.Time) (sums []Sum, metals []Metal, err error) {
	sums, metals = []Sum{}, []Metal{}
	var t Taking
	err = r.Each(&t, func() error {
		if t.At.Before(from) || !t.At.Before(to) {
			return nil
		}
		if t.Brought != nil {
			sum := at(&sums, Sum{Way: t.Way, Currency: t.Currency}, func(s Sum) bool {
				return s.Way == t.Way && s.Currency == t.Currency
			})
			sum.Brought, sum.Entries = sum.Brought+*t.Brought, sum.Entries+1
		}
		if t.Metal != "" {
			key := names.MakerKey(t.Metal)
			metal := at(&metals, Metal{Metal: t.Metal}, func(m Metal) bool {
				return names.MakerKey(m.Metal) == key
			})
			if metal.Weight += t.Weight; t.Weight == 0 {
				metal.Unweighed++
			}
		}
		return nil
	})
	slices.SortFunc(sums, func(a, b Sum) int {
		return cmp.Or(cmp.Compare(slices.Index(Ways, a.Way), slices.Index(Ways, b.Way)),
			cmp.Compare(a.Currency, b.Currency))
	})
	slices.SortFunc(metals, func(a, b Metal) int { return cmp.Compare(a.Metal, b.Metal) })
	return sums, metals, err
}

// at is the one of a list that is meant, added where there is none.
func at[T any](list *[]T, fresh T, meant func(T) bool) *T {
	i := slices.IndexFunc(*list, meant)
	if i < 0 {
		i = len(*list)
		*list = append(*list, fresh)
	}
	return &(*list)[i]
}

// fewest is how many sales have to speak for a price.
const fewest = 3

// Earlier is what the house's own sales of such machines or parts brought.
type Earlier struct {
	of       string
	Median   money.Amount `json:"median"`
	Currency string       `json:"currency"`
	Sales    int          `json:"sales"`
}

// Said tells it in words.
func (e Earlier) Said() string {
	return fmt.Sprintf("%s brought %s %s here, the median of %d sales.", e.of, e.Median, e.Currency, e.Sales)
}

// EarlierSales says what other machines of this maker, model and drive brought that were sold here, by
// currency. Where fewer than three speak for one, nothing is said of it.
func (w *Takings) EarlierSales(ctx context.Context, m *stock.Machine) (earlier []Earlier, err error) {
	model := names.ModelKey(m.Model)
	if m.MakerKey == "" || model == "" {
		return nil, nil
	}
	brought := map[string][]money.Amount{}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		such := stock.MachineFilter{Stage: registry.Sold, Drive: m.Drive, Maker: m.Maker}
		var sold []registry.Tag
		if err := r.Machines(such, func(other *stock.Machine) error {
			if other.Tag != m.Tag && names.ModelKey(other.Model) == model {
				sold = append(sold, other.Tag)
			}
			return nil
		}); err != nil {
			return err
		}
		for _, tag := range sold {
			var list []Taking
			if err := r.All(&list, stock.Fields{"tag": tag}); err != nil {
				return err
			}
			if n := len(list); n > 0 && list[n-1].Way == Sale && list[n-1].Brought != nil {
				brought[list[n-1].Currency] = append(brought[list[n-1].Currency], *list[n-1].Brought)
			}
		}
		return nil
	})
	return medians("Such machines", brought), err
}

// EarlierLots says what a piece brought in the lots of one kind of part that were sold here, by the same
// rule.
func (w *Takings) EarlierLots(ctx context.Context, part string) ([]Earlier, error) {
	brought := map[string][]money.Amount{}
	var list []Taking
	err := w.Store.View(ctx, func(r stock.Reader) error {
		return r.All(&list, stock.Fields{"part": part, "way": Parts})
	})
	for _, t := range list {
		if t.Brought != nil && t.Pieces > 0 {
			brought[t.Currency] = append(brought[t.Currency], *t.Brought/money.Amount(t.Pieces))
		}
	}
	return medians("Each "+part, brought), err
}

// medians sums up what sales brought by currency, where enough speak for one.
func medians(of string, brought map[string][]money.Amount) (earlier []Earlier) {
	for currency, amounts := range brought {
		if len(amounts) >= fewest {
			earlier = append(earlier, Earlier{of, median(amounts), currency, len(amounts)})
		}
	}
	slices.SortFunc(earlier, func(a, b Earlier) int { return cmp.Compare(a.Currency, b.Currency) })
	return earlier
}

// median is the middle one, or what lies between the two in the middle.
func median(amounts []money.Amount) money.Amount {
	slices.Sort(amounts)
	n := len(amounts)
	return (amounts[(n-1)/2] + amounts[n/2]) / 2
}
