package stock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

func TestServes(t *testing.T) {
	assert.Equal(t, []registry.Drive{registry.Hand}, (&stock.Machine{Drive: registry.Hand}).Serves())
	assert.Equal(t, []registry.Drive{registry.Treadle},
		(&stock.Machine{Drive: registry.Treadle, Head: stock.Head{EitherWay: stock.No}}).Serves())
	assert.Equal(t, []registry.Drive{registry.Hand, registry.Treadle},
		(&stock.Machine{Drive: registry.Treadle, Head: stock.Head{EitherWay: stock.Yes}}).Serves())
	assert.Equal(t, []registry.Drive{registry.Electric},
		(&stock.Machine{Drive: registry.Electric, Head: stock.Head{EitherWay: stock.Yes}}).Serves())
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
