package intake_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/intake"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// The beds and models here are invented.
func bedWorkshop() *intake.Intake {
	return &intake.Intake{Stock: &stock.Stock{Lists: &stock.Lists{
		Beds: func() ([]stock.BedPattern, error) {
			return []stock.BedPattern{
				{Bed: "wren", Length: 371 * measure.Millimetre, Width: 178 * measure.Millimetre,
					Pins: 241 * measure.Millimetre, Groove: stock.Yes, Needle: "round shank",
					Weight: 12 * measure.Kilogram},
				{Bed: "rook", Length: 308 * measure.Millimetre, Width: 165 * measure.Millimetre,
					Wheel: 66 * measure.Millimetre},
			}, nil
		},
		Models: func() ([]stock.ModelRow, error) {
			return []stock.ModelRow{
				{Model: "Heron", Maker: "Harrow & Finch", Bed: "wren", Needle: "130/705 H",
					Bobbin: "vibrating shuttle"},
				{Model: "Coppice", Bed: "rook"},
			}, nil
		},
	}}}
}

func TestFill(t *testing.T) {
	w := bedWorkshop()
	t.Run("a bed pattern gives what was not measured", func(t *testing.T) {
		m := stock.Machine{Head: stock.Head{BedPattern: "Wren", Pins: 242 * measure.Millimetre}}
		require.NoError(t, w.Fill(&stock.Machine{}, &m))
		assert.Equal(t, "wren", m.BedPattern)
		assert.Equal(t, 371*measure.Millimetre, m.BedLength)
		assert.Equal(t, 242*measure.Millimetre, m.Pins, "measured on the machine")
		assert.Equal(t, stock.Yes, m.Groove)
		assert.Equal(t, "round shank", m.Needle)
		assert.Equal(t, 12*measure.Kilogram, m.Weight)
	})
	t.Run("a model gives a bed, and its own needle goes before the bed's", func(t *testing.T) {
		m := stock.Machine{Maker: "harrow and finch", Model: "HERON"}
		require.NoError(t, w.Fill(&stock.Machine{}, &m))
		assert.Equal(t, "wren", m.BedPattern)
		assert.Equal(t, "130/705 H", m.Needle)
		assert.Equal(t, "vibrating shuttle", m.Bobbin)
		assert.Equal(t, 241*measure.Millimetre, m.Pins)
	})
	t.Run("the model of another maker says nothing", func(t *testing.T) {
		m := stock.Machine{Maker: "Ostermann", Model: "Heron"}
		require.NoError(t, w.Fill(&stock.Machine{}, &m))
		assert.Zero(t, m.Head)
	})
	t.Run("another bed takes back what the first one gave, and leaves what was measured", func(t *testing.T) {
		m := stock.Machine{Head: stock.Head{BedPattern: "wren", Pins: 242 * measure.Millimetre}}
		require.NoError(t, w.Fill(&stock.Machine{}, &m))
		before := m
		m.BedPattern = "rook"
		require.NoError(t, w.Fill(&before, &m))
		assert.Equal(t, 308*measure.Millimetre, m.BedLength)
		assert.Equal(t, 242*measure.Millimetre, m.Pins)
		assert.Equal(t, stock.Answer(""), m.Groove, "the rook's groove is not known")
		assert.Equal(t, 66*measure.Millimetre, m.Wheel)
		assert.Zero(t, m.Weight)
	})
	t.Run("another model brings another bed, unless the bed was chosen", func(t *testing.T) {
		m := stock.Machine{Maker: "Harrow & Finch", Model: "Heron"}
		require.NoError(t, w.Fill(&stock.Machine{}, &m))
		before := m
		m.Model = "Coppice"
		require.NoError(t, w.Fill(&before, &m))
		assert.Equal(t, "rook", m.BedPattern)
		assert.Equal(t, 165*measure.Millimetre, m.BedWidth)

		chosen := stock.Machine{Model: "Coppice", Head: stock.Head{BedPattern: "wren"}}
		before, m = chosen, chosen
		m.Model = ""
		require.NoError(t, w.Fill(&before, &m))
		assert.Equal(t, "wren", m.BedPattern)
	})
	t.Run("nothing is filled in behind somebody's back", func(t *testing.T) {
		before := stock.Machine{Head: stock.Head{BedPattern: "wren"}}
		m := before
		m.Place = "bay 1"
		require.NoError(t, w.Fill(&before, &m))
		assert.Zero(t, m.BedLength)
	})
	t.Run("a bed that is not on the list is refused, unless it was measured", func(t *testing.T) {
		measured := stock.Machine{Head: stock.Head{BedPattern: "crow", BedLength: 370 * measure.Millimetre,
			BedWidth: 178 * measure.Millimetre, Pins: 241 * measure.Millimetre}}
		m := measured
		require.NoError(t, w.Fill(&stock.Machine{}, &m))
		assert.Equal(t, measured, m)
		err := w.Fill(&stock.Machine{}, &stock.Machine{Head: stock.Head{BedPattern: "crow"}})
		assert.EqualError(t, err,
			`bed-pattern "crow" is not on the list of beds: type one of wren, rook, or measure the bed and its pins`)
	})
}
