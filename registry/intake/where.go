package intake

import (
	"pitman/registry"
	"pitman/registry/stock"
)

// whereabouts is what is typed of a machine or base that speaks of other things in the house: where it
// stands, and what it arrived with.
type whereabouts struct {
	place string
	with  registry.Tag
}

func whereOfMachine(m *stock.Machine) whereabouts { return whereabouts{m.Place, m.ArrivedWith} }
func whereOfBase(b *stock.Base) whereabouts       { return whereabouts{b.Place, b.ArrivedWith} }

// CheckArrival refuses a machine on its way in whose place is the tag of something, or that came with a base
// which is not in this house.
func CheckArrival(r stock.Reader, m *stock.Machine) error {
	return checkWhere(r, whereabouts{}, whereOfMachine(m), stock.BaseByTag)
}

// checkWhere refuses, of what is another than before, a place that is the tag of something and a tag to have
// arrived with that find does not know in this house; empty is one that came alone.
func checkWhere[T any](r stock.Reader, before, now whereabouts,
	find func(stock.Reader, registry.Tag) (*T, error)) error {
	if now.place != before.place {
		if err := stock.CheckPlace(r, now.place); err != nil {
			return err
		}
	}
	if now.with == before.with || now.with == "" {
		return nil
	}
	_, err := find(r, now.with)
	return registry.OnField("arrived-with", registry.Prefixed("arrived-with", err))
}
