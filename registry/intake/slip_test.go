package intake_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A slip of the tongue at logging is mended by whoever logged it, up to ten minutes later and untested; by
// nobody else, and no clock that is set back gives more time than others have seen go by.
func TestADriveThatWasLoggedWrongly(t *testing.T) {
	for name, c := range map[string]struct {
		by           registry.Initials
		later        time.Duration
		others       time.Duration // after which somebody logs another machine
		tested, mend bool
	}{
		"at once":                              {by: "QX", mend: true},
		"ten minutes later":                    {by: "QX", later: 10 * time.Minute, mend: true},
		"a moment after":                       {by: "QX", later: 10*time.Minute + time.Millisecond},
		"by another":                           {by: "RS"},
		"tested":                               {by: "QX", tested: true},
		"a clock that went back":               {by: "QX", later: -time.Hour, mend: true},
		"a clock that went back behind others": {by: "QX", later: -time.Hour, others: 11 * time.Minute},
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.Workshop(t)
			now := w.Now().Truncate(time.Millisecond)
			w.Now = func() time.Time { return now }
			m := registrytest.Machine("B1")
			m.Drive = registry.Electric
			require.NoError(t, w.Log(registrytest.Ctx, "QX", m, true))
			if c.tested {
				_, _, err := w.Safety(registrytest.Ctx, "EL", m.Tag, registrytest.GoodSafety())
				require.NoError(t, err)
			}
			if c.others > 0 {
				w.Now = func() time.Time { return now.Add(c.others) }
				require.NoError(t, w.Log(registrytest.Ctx, "RS", registrytest.Machine("B2"), true))
			}
			w.Now = func() time.Time { return now.Add(c.later) }
			_, err := w.Amend(registrytest.Ctx, c.by, m.Tag, "", func(m *stock.Machine) error {
				m.Drive = registry.Hand
				return nil
			})
			if c.mend {
				require.NoError(t, err)
				return
			}
			assert.ErrorContains(t, err, "only whoever logged it may correct that, within 10 minutes")
		})
	}
}
