package stock_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A clock that stands before what was done here by more than a day is told; one that is a little behind is
// not.
func TestAClockThatIsBehindIsTold(t *testing.T) {
	w := registrytest.Workshop(t)
	assert.Empty(t, w.ClockBehind(), "nothing was done yet")
	m := stock.Machine{Maker: "Tamarisk", Serial: "1", Drive: registry.Hand}
	require.NoError(t, w.Log(registrytest.Ctx, "QX", &m, false))
	last := m.LoggedAt
	for back, told := range map[time.Duration]bool{0: false, -time.Hour: false, 23 * time.Hour: false,
		25 * time.Hour: true, 40 * 365 * 24 * time.Hour: true} {
		w.Stock.Now = func() time.Time { return last.Add(-back) }
		assert.Equal(t, told, w.ClockBehind() != "", back)
	}
}
