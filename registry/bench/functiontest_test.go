package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// What counts no longer leaves no trace on the machine: whoever reads it sees only what still speaks for it.
func TestOldTestsLeaveTheMachine(t *testing.T) {
	w := registrytest.Workshop(t)
	tested := func(m *stock.Machine) {
		m.Stage, m.TestedAt, m.TestedBy, m.SafetyAt, m.SafetyBy = registry.Ready, w.Now(), "RS", w.Now(), "EL"
	}
	for _, c := range []struct {
		name  string
		do    func(registry.Tag) (*stock.Machine, error)
		stage registry.Stage // before; "" = ready
		safe  bool           // afterwards
	}{
		{"bench start", func(tag registry.Tag) (*stock.Machine, error) {
			return w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
		}, "", false},
		{"a failed test", func(tag registry.Tag) (*stock.Machine, error) {
			m, _, err := w.Test(registrytest.Ctx, "RS", tag,
				bench.TestForm{PassAll: true, Fail: map[string]string{"tension": "loops below"}})
			return m, err
		}, "", false},
		{"back from the scrap", func(tag registry.Tag) (*stock.Machine, error) {
			return w.Triage(registrytest.Ctx, "QX", tag, "refurbish", "a reason", "")
		}, registry.Scrapped, false},
	} {
		tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
			if tested(m); c.stage != "" {
				m.Stage = c.stage
			}
		})
		m, err := c.do(tag)
		require.NoError(t, err, c.name)
		assert.True(t, m.TestedAt.IsZero(), c.name)
		assert.Empty(t, m.TestedBy, c.name)
		assert.Equal(t, c.safe, w.SafetyStands(m), c.name)
	}
}

func TestSecondPersonByDrive(t *testing.T) {
	w := registrytest.Workshop(t)
	for _, drive := range registry.Drives {
		tag := registrytest.Put(t, w, drive,
			func(m *stock.Machine) { m.Stage, m.SafetyAt = registry.Queued, w.Now() })
		_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = w.BenchNote(registrytest.Ctx, "MB", tag, bench.WorkNote{Note: "tensioned"})
		require.NoError(t, err)
		_, err = w.BenchFinish(registrytest.Ctx, "QX", tag, bench.WorkNote{})
		require.NoError(t, err)
		for _, by := range []registry.Initials{"QX", "MB", "RS"} {
			_, err := w.MayTest(registrytest.Ctx, by, tag)
			if drive == registry.Electric {
				assert.ErrorContains(t, err, "has no safety pass", "any bench visit cancels it")
			} else if by != "RS" {
				assert.ErrorContains(t, err, string(by)+" worked on "+string(tag))
			} else {
				assert.NoError(t, err)
			}
		}
	}
	w.Config.Test.SecondPerson = nil
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	_, err := w.MayTest(registrytest.Ctx, "QX", tag)
	assert.NoError(t, err)
}

// A point that is said to pass and to fail was mistyped; neither is believed.
func TestAPointIsAnsweredOnce(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Test(registrytest.Ctx, "RS", tag,
		bench.TestForm{PassAll: true, Pass: []string{"tension"},
			Fail: map[string]string{"tension": "loops below"}})
	assert.ErrorContains(t, err, `point "tension" is both passed and failed: give it once`)
}

// A list of points that leaves a drive out must not pass its machines untested.
func TestNoPointsIsNoPass(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Lists.Bench.Points = func() ([]bench.TestPoint, error) {
		return []bench.TestPoint{{Point: "crank", Ask: "Does it turn?",
			Drives: registry.DriveSet{registry.Hand}}}, nil
	}
	tag := registrytest.Put(t, w, registry.Treadle, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, string(tag)+" has treadle drive, and lists/points.csv has no point for it")
	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
}
