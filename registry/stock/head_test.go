package stock

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/measure"
)

// The beds and models here are invented.
func bedWorkshop() *Stock {
	return &Stock{Lists: &Lists{
		Beds: func() ([]BedPattern, error) {
			return []BedPattern{
				{Bed: "wren", Length: 371 * measure.Millimetre, Width: 178 * measure.Millimetre,
					Pins: 241 * measure.Millimetre, Groove: Yes, Needle: "round shank",
					Weight: 12 * measure.Kilogram},
				{Bed: "rook", Length: 308 * measure.Millimetre, Width: 165 * measure.Millimetre,
					Wheel: 66 * measure.Millimetre},
			}, nil
		},
		Models: func() ([]ModelRow, error) {
			return []ModelRow{
				{Model: "Heron", Maker: "Harrow & Finch", Bed: "wren", Needle: "130/705 H",
					Bobbin: "vibrating shuttle"},
				{Model: "Domestic", Bed: "rook"},
			}, nil
		},
	}}
}

func TestFill(t *testing.T) {
	w := bedWorkshop()
	t.Run("a bed pattern gives what was not measured", func(t *testing.T) {
		m := Machine{Head: Head{BedPattern: "Wren", Pins: 242 * measure.Millimetre}}
		require.NoError(t, w.Fill(&Machine{}, &m))
		assert.Equal(t, "wren", m.BedPattern)
		assert.Equal(t, 371*measure.Millimetre, m.BedLength)
		assert.Equal(t, 242*measure.Millimetre, m.Pins, "measured on the machine")
		assert.Equal(t, Yes, m.Groove)
		assert.Equal(t, "round shank", m.Needle)
		assert.Equal(t, 12*measure.Kilogram, m.Weight)
	})
	t.Run("a model gives a bed, and its own needle goes before the bed's", func(t *testing.T) {
		m := Machine{Maker: "harrow and finch", Model: "HERON"}
		require.NoError(t, w.Fill(&Machine{}, &m))
		assert.Equal(t, "wren", m.BedPattern)
		assert.Equal(t, "130/705 H", m.Needle)
		assert.Equal(t, "vibrating shuttle", m.Bobbin)
		assert.Equal(t, 241*measure.Millimetre, m.Pins)
	})
	t.Run("the model of another maker says nothing", func(t *testing.T) {
		m := Machine{Maker: "Ostermann", Model: "Heron"}
		require.NoError(t, w.Fill(&Machine{}, &m))
		assert.Zero(t, m.Head)
	})
	t.Run("another bed takes back what the first one gave, and leaves what was measured", func(t *testing.T) {
		m := Machine{Head: Head{BedPattern: "wren", Pins: 242 * measure.Millimetre}}
		require.NoError(t, w.Fill(&Machine{}, &m))
		before := m
		m.BedPattern = "rook"
		require.NoError(t, w.Fill(&before, &m))
		assert.Equal(t, 308*measure.Millimetre, m.BedLength)
		assert.Equal(t, 242*measure.Millimetre, m.Pins)
		assert.Equal(t, Answer(""), m.Groove, "the rook's groove is not known")
		assert.Equal(t, 66*measure.Millimetre, m.Wheel)
		assert.Zero(t, m.Weight)
	})
	t.Run("another model brings another bed, unless the bed was chosen", func(t *testing.T) {
		m := Machine{Maker: "Harrow & Finch", Model: "Heron"}
		require.NoError(t, w.Fill(&Machine{}, &m))
		before := m
		m.Model = "Domestic"
		require.NoError(t, w.Fill(&before, &m))
		assert.Equal(t, "rook", m.BedPattern)
		assert.Equal(t, 165*measure.Millimetre, m.BedWidth)

		chosen := Machine{Model: "Domestic", Head: Head{BedPattern: "wren"}}
		before, m = chosen, chosen
		m.Model = ""
		require.NoError(t, w.Fill(&before, &m))
		assert.Equal(t, "wren", m.BedPattern)
	})
	t.Run("nothing is filled in behind somebody's back", func(t *testing.T) {
		before := Machine{Head: Head{BedPattern: "wren"}}
		m := before
		m.Place = "bay 1"
		require.NoError(t, w.Fill(&before, &m))
		assert.Zero(t, m.BedLength)
	})
	t.Run("a bed that is not on the list is refused, unless it was measured", func(t *testing.T) {
		measured := Machine{Head: Head{BedPattern: "crow", BedLength: 370 * measure.Millimetre,
			BedWidth: 178 * measure.Millimetre, Pins: 241 * measure.Millimetre}}
		m := measured
		require.NoError(t, w.Fill(&Machine{}, &m))
		assert.Equal(t, measured, m)
		err := w.Fill(&Machine{}, &Machine{Head: Head{BedPattern: "crow"}})
		assert.EqualError(t, err,
			`bed-pattern "crow" is not on the list of beds: type one of wren, rook, or measure the bed and its pins`)
	})
}

func TestServes(t *testing.T) {
	assert.Equal(t, []registry.Drive{registry.Hand}, (&Machine{Drive: registry.Hand}).Serves())
	assert.Equal(t, []registry.Drive{registry.Treadle},
		(&Machine{Drive: registry.Treadle, Head: Head{EitherWay: No}}).Serves())
	assert.Equal(t, []registry.Drive{registry.Hand, registry.Treadle},
		(&Machine{Drive: registry.Treadle, Head: Head{EitherWay: Yes}}).Serves())
	assert.Equal(t, []registry.Drive{registry.Electric},
		(&Machine{Drive: registry.Electric, Head: Head{EitherWay: Yes}}).Serves())
}

func TestLiftCaution(t *testing.T) {
	// The guide figures of HSE L23 for lifting close to the body at knuckle height: 25 kg men, 16 kg women.
	assert.Empty(t, measure.LiftCaution(16*measure.Kilogram, true))
	assert.Contains(t, measure.LiftCaution(16*measure.Kilogram+1, true), "16 kg for women")
	assert.NotContains(t, measure.LiftCaution(25*measure.Kilogram, true), "more than one person")
	assert.Contains(t, measure.LiftCaution(25*measure.Kilogram+1, true),
		"more than one person lifts (guide 25 kg")
	assert.Contains(t, measure.LiftCaution(0, true), "not known")
	assert.Empty(t, measure.LiftCaution(0, false))
}
