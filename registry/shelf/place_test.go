package shelf_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A move is one action: what cannot be moved keeps the rest where it was, and undoing it puts all back.
func TestAMoveIsAllOrNone(t *testing.T) {
	w := registrytest.Workshop(t)
	head := registrytest.Put(t, w, registry.Treadle, func(m *stock.Machine) { m.Place = "bay 1" })
	base := registrytest.PutBase(t, w, func(*stock.Base) {})
	sold := registrytest.PutBase(t, w, func(b *stock.Base) { b.Stage = registry.Sold })
	places := func() [2]string {
		m, err := w.Machine(registrytest.Ctx, head)
		require.NoError(t, err)
		b, err := w.Base(registrytest.Ctx, base)
		require.NoError(t, err)
		return [2]string{m.Place, b.Place}
	}
	_, err := w.Move(registrytest.Ctx, "QX", []registry.Tag{head, base, sold}, "bay 2")
	assert.ErrorContains(t, err, string(sold)+" is sold and has no place here")
	assert.Equal(t, [2]string{"bay 1", "bay 1"}, places())
	_, err = w.Move(registrytest.Ctx, "QX", []registry.Tag{head, base, head}, "bay 2")
	require.NoError(t, err)
	assert.Equal(t, [2]string{"bay 2", "bay 2"}, places())
	_, err = w.Undo(registrytest.Ctx, "QX")
	require.NoError(t, err)
	assert.Equal(t, [2]string{"bay 1", "bay 1"}, places())
}

// Shelf labels are for places where something stands: each once, and none for what has left the house.
func TestPlacesInUse(t *testing.T) {
	w := registrytest.Workshop(t)
	places, err := w.PlacesInUse(registrytest.Ctx)
	require.NoError(t, err)
	assert.Empty(t, places)
	for _, place := range []string{"shelf 3", "Attic", "SHELF 3", ""} {
		registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place = place })
	}
	registrytest.Put(t, w, registry.Hand,
		func(m *stock.Machine) { m.Place, m.Stage = "van", registry.Shipped })
	registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place, m.HandedTo = "lent", "FF" })
	registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "attic" })
	registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "bay 2" })
	registrytest.PutBase(t, w, func(b *stock.Base) { b.Place, b.Stage = "yard", registry.Scrapped })
	places, err = w.PlacesInUse(registrytest.Ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"Attic", "bay 2", "shelf 3"}, places)
}

func TestACountLooksAndCorrectsOnlyWhenTold(t *testing.T) {
	w := registrytest.Workshop(t)
	there := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place = "bay 1" })
	lost := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Place = "Bay 1" })
	registrytest.Put(t, w, registry.Hand,
		func(m *stock.Machine) { m.Place, m.Stage = "bay 1", registry.Shipped })
	strayed := registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "bay 2" })
	back := registrytest.PutBase(t, w, func(b *stock.Base) { b.Stage = registry.Shipped })
	tags := func(units []stock.Unit) (out []registry.Tag) {
		for _, u := range units {
			out = append(out, u.Tag)
		}
		return out
	}
	scanned := []registry.Tag{there, strayed, back, there}
	c, err := w.Count(registrytest.Ctx, "bay 1", scanned)
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{there}, tags(c.Found))
	assert.Equal(t, []registry.Tag{lost}, tags(c.Missing), "what was shipped is not missed")
	assert.Equal(t, []registry.Tag{strayed}, tags(c.ByMistake))
	assert.Equal(t, []registry.Tag{back}, tags(c.Gone))

	again, err := w.CorrectCount(registrytest.Ctx, "QX", "bay 1", scanned)
	require.NoError(t, err)
	assert.True(t, again.Corrected)
	m, err := w.Machine(registrytest.Ctx, lost)
	require.NoError(t, err)
	assert.Empty(t, m.Place)
	c, err = w.Count(registrytest.Ctx, "bay 1", scanned)
	require.NoError(t, err)
	assert.Empty(t, c.Missing)
	assert.Empty(t, c.ByMistake)
	assert.Equal(t, []registry.Tag{there, strayed}, tags(c.Found))
	b, err := w.Base(registrytest.Ctx, back)
	require.NoError(t, err)
	assert.Equal(t, registry.Shipped, b.Stage)
}

// Every way to say where something stands takes a shelf whose name a tag could be made of, and refuses the
// tag of what is in the house.
func TestAShelfIsAnyWordButATagOfTheHouse(t *testing.T) {
	w := registrytest.Workshop(t)
	head := registrytest.Put(t, w, registry.Hand, func(*stock.Machine) {})
	stripped := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Parts })
	base := registrytest.PutBase(t, w, func(*stock.Base) {})
	ways := map[string]func(place string) error{
		"log": func(place string) error {
			return w.Log(registrytest.Ctx, "QX",
				&stock.Machine{Maker: "Ostermann", Serial: stock.NoSerial, Drive: registry.Hand,
					Place: place}, true)
		},
		"amend": func(place string) error {
			_, err := w.Amend(registrytest.Ctx, "QX", head, "", func(m *stock.Machine) error {
				m.Place = place
				return nil
			})
			return err
		},
		"base add": func(place string) error {
			return w.AddBase(registrytest.Ctx, "QX", &stock.Base{Pattern: "Alder", Place: place})
		},
		"base amend": func(place string) error {
			_, err := w.AmendBase(registrytest.Ctx, "QX", base, "", func(b *stock.Base) error {
				b.Place = place
				return nil
			})
			return err
		},
		"import": func(place string) error {
			return w.Import(registrytest.Ctx, "QX", "sheet.csv", false, func(i *imports.Intake) error {
				_, err := i.Add(&imports.Incoming{Row: 2, Machine: stock.Machine{Maker: "Ostermann",
					Serial: stock.NoSerial, Drive: registry.Hand, Place: place}})
				return err
			})
		},
		"preview of an import": func(place string) error {
			return w.Preview(registrytest.Ctx, false, func(i *imports.Intake) error {
				_, err := i.Add(&imports.Incoming{Row: 2, Machine: stock.Machine{Maker: "Ostermann",
					Serial: stock.NoSerial, Drive: registry.Hand, Place: place}})
				return err
			})
		},
		"a part taken off": func(place string) error {
			_, _, err := w.TakeSpare(registrytest.Ctx, "QX", stripped, "handwheel", place)
			return err
		},
		"move": func(place string) error {
			_, err := w.Move(registrytest.Ctx, "QX", []registry.Tag{head}, place)
			return err
		},
		"count": func(place string) error {
			_, err := w.Count(registrytest.Ctx, place, nil)
			return err
		},
		"correct a count": func(place string) error {
			_, err := w.CorrectCount(registrytest.Ctx, "QX", place, []registry.Tag{head})
			return err
		},
		"label of a shelf": func(place string) error {
			_, err := w.PlaceNamed(registrytest.Ctx, place)
			return err
		},
	}
	for name, do := range ways {
		for _, tag := range []registry.Tag{head, base} {
			err := do(string(tag))
			assert.Equal(t, registry.Invalid, registry.CodeOf(err), "%s: %v", name, err)
			assert.ErrorContains(t, err, "is the tag of a", name)
		}
		_, err := registry.ParseTag("P35")
		require.NoError(t, err, "no tag could be made of it")
		assert.NoError(t, do("P35"), name)
	}
	// A shelf that had its name first keeps it, and what stands there can be corrected.
	_, err := w.Amend(registrytest.Ctx, "QX", head, "",
		func(m *stock.Machine) error { m.Note = "oiled"; return nil })
	assert.NoError(t, err)
}
