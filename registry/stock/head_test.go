package stock

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/measure"
)

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
