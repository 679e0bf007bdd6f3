package intake

import (
	"pitman/registry"
	"pitman/registry/place"
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

// CheckArrival reads the place of a machine on its way in, and refuses one that came with a base which is not
// in this house.
func CheckArrival(r stock.Reader, m *stock.Machine) error {
	return checkWhere(r, whereabouts{}, whereOfMachine(m), &m.Place, stock.BaseByTag)
}

// checkWhere reads, of what is another than before, the place, and refuses a tag to have arrived with that
// find does not know in this house; empty is one that came alone.
func checkWhere[T any](r stock.Reader, before, now whereabouts, at *string,
	find func(stock.Reader, registry.Tag) (*T, error)) (err error) {
	if now.place != before.place {
		if *at, err = place.Read(r, now.place); err != nil {
			return err
		}
	}
	if now.with == before.with || now.with == "" {
		return nil
	}
	_, err = find(r, now.with)
	return registry.OnField("arrived-with", registry.Prefixed("arrived-with", err))
}
