package registry

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The beds and models here are invented.
func bedWorkshop() *Workshop {
	return &Workshop{Lists: Lists{
		Beds: func() ([]BedPattern, error) {
			return []BedPattern{
				{Bed: "wren", Length: 371 * Millimetre, Width: 178 * Millimetre, Pins: 241 * Millimetre, Groove: Yes, Needle: "round shank", Weight: 12 * Kilogram},
				{Bed: "rook", Length: 308 * Millimetre, Width: 165 * Millimetre, Wheel: 66 * Millimetre},
			}, nil
		},
		Models: func() ([]ModelRow, error) {
			return []ModelRow{
				{Model: "Heron", Maker: "Harrow & Finch", Bed: "wren", Needle: "130/705 H", Bobbin: "vibrating shuttle"},
				{Model: "Domestic", Bed: "rook"},
			}, nil
		},
	}}
}

func TestFill(t *testing.T) {
	w := bedWorkshop()
	t.Run("a bed pattern gives what was not measured", func(t *testing.T) {
		m := Machine{Head: Head{BedPattern: "Wren", Pins: 242 * Millimetre}}
		require.NoError(t, w.fill(&Machine{}, &m))
		assert.Equal(t, "wren", m.BedPattern)
		assert.Equal(t, 371*Millimetre, m.BedLength)
		assert.Equal(t, 242*Millimetre, m.Pins, "measured on the machine")
		assert.Equal(t, Yes, m.Groove)
		assert.Equal(t, "round shank", m.Needle)
		assert.Equal(t, 12*Kilogram, m.Weight)
	})
	t.Run("a model gives a bed, and its own needle goes before the bed's", func(t *testing.T) {
		m := Machine{Maker: "harrow and finch", Model: "HERON"}
		require.NoError(t, w.fill(&Machine{}, &m))
		assert.Equal(t, "wren", m.BedPattern)
		assert.Equal(t, "130/705 H", m.Needle)
		assert.Equal(t, "vibrating shuttle", m.Bobbin)
		assert.Equal(t, 241*Millimetre, m.Pins)
	})
	t.Run("the model of another maker says nothing", func(t *testing.T) {
		m := Machine{Maker: "Ostermann", Model: "Heron"}
		require.NoError(t, w.fill(&Machine{}, &m))
		assert.Zero(t, m.Head)
	})
	t.Run("another bed takes back what the first one gave, and leaves what was measured", func(t *testing.T) {
		m := Machine{Head: Head{BedPattern: "wren", Pins: 242 * Millimetre}}
		require.NoError(t, w.fill(&Machine{}, &m))
		before := m
		m.BedPattern = "rook"
		require.NoError(t, w.fill(&before, &m))
		assert.Equal(t, 308*Millimetre, m.BedLength)
		assert.Equal(t, 242*Millimetre, m.Pins)
		assert.Equal(t, Answer(""), m.Groove, "the rook's groove is not known")
		assert.Equal(t, 66*Millimetre, m.Wheel)
		assert.Zero(t, m.Weight)
	})
	t.Run("another model brings another bed, unless the bed was chosen", func(t *testing.T) {
		m := Machine{Maker: "Harrow & Finch", Model: "Heron"}
		require.NoError(t, w.fill(&Machine{}, &m))
		before := m
		m.Model = "Domestic"
		require.NoError(t, w.fill(&before, &m))
		assert.Equal(t, "rook", m.BedPattern)
		assert.Equal(t, 165*Millimetre, m.BedWidth)

		chosen := Machine{Model: "Domestic", Head: Head{BedPattern: "wren"}}
		before, m = chosen, chosen
		m.Model = ""
		require.NoError(t, w.fill(&before, &m))
		assert.Equal(t, "wren", m.BedPattern)
	})
	t.Run("nothing is filled in behind somebody's back", func(t *testing.T) {
		before := Machine{Head: Head{BedPattern: "wren"}}
		m := before
		m.Place = "bay 1"
		require.NoError(t, w.fill(&before, &m))
		assert.Zero(t, m.BedLength)
	})
	t.Run("a bed that is not on the list is refused, unless it was measured", func(t *testing.T) {
		measured := Machine{Head: Head{BedPattern: "crow", BedLength: 370 * Millimetre, BedWidth: 178 * Millimetre, Pins: 241 * Millimetre}}
		m := measured
		require.NoError(t, w.fill(&Machine{}, &m))
		assert.Equal(t, measured, m)
		err := w.fill(&Machine{}, &Machine{Head: Head{BedPattern: "crow"}})
		assert.EqualError(t, err, `bed-pattern "crow" is not on the list of beds: type one of wren, rook, or measure the bed and give --bed and --pins`)
	})
}

func TestServes(t *testing.T) {
	assert.Equal(t, []Drive{Hand}, (&Machine{Drive: Hand}).Serves())
	assert.Equal(t, []Drive{Treadle}, (&Machine{Drive: Treadle, Head: Head{EitherWay: No}}).Serves())
	assert.Equal(t, []Drive{Hand, Treadle}, (&Machine{Drive: Treadle, Head: Head{EitherWay: Yes}}).Serves())
	assert.Equal(t, []Drive{Electric}, (&Machine{Drive: Electric, Head: Head{EitherWay: Yes}}).Serves())
}

func TestLiftCaution(t *testing.T) {
	// The guide figures of HSE L23 for lifting close to the body at knuckle height: 25 kg men, 16 kg women.
	assert.Empty(t, LiftCaution(16*Kilogram, true))
	assert.Contains(t, LiftCaution(16*Kilogram+1, true), "16 kg for women")
	assert.NotContains(t, LiftCaution(25*Kilogram, true), "more than one person")
	assert.Contains(t, LiftCaution(25*Kilogram+1, true), "more than one person lifts (guide 25 kg")
	assert.Contains(t, LiftCaution(0, true), "not known")
	assert.Empty(t, LiftCaution(0, false))
}
