package house_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Whoever edits a list of the house makes no rewired cord harmless and no motor unasked.
func TestAListAddsAndHouseTomlTakesAway(t *testing.T) {
	own := house.Lists{
		Bench: bench.Lists{
			Points: func() ([]bench.TestPoint, error) {
				return []bench.TestPoint{{Point: "squeak", Ask: "Is it quiet?"},
					{Point: "motor", Ask: "Does it run?", Drives: registry.DriveSet{registry.Hand}}}, nil
			},
			Jobs: func() ([]bench.BenchJob, error) {
				return []bench.BenchJob{{Job: "rewire", What: "New cord"}, {Job: "polish", What: "Polish"}},
					nil
			}},
		Spares: spares.Lists{Parts: func() ([]spares.PartKind, error) {
			return []spares.PartKind{{Part: "motor", What: "Motor"}}, nil
		}},
	}
	config := house.Defaults()
	w := house.NewWorkshop(nil, config, own, nil, nil)
	asked := func() map[string]bench.TestPoint {
		points, err := w.PointsFor(&stock.Machine{Drive: registry.Electric, Stitch: "lockstitch"})
		require.NoError(t, err)
		found := map[string]bench.TestPoint{}
		for _, p := range points {
			found[p.Point] = p
		}
		return found
	}
	points := asked()
	assert.Contains(t, points, "squeak")
	assert.Contains(t, points, "tension")
	assert.Equal(t, "Does it run?", points["motor"].Ask, "in the house's words, and of electric machines")
	assert.False(t, bool(points["motor"].MayLack))

	jobs, err := w.Lists.Bench.Jobs()
	require.NoError(t, err)
	assert.True(t, bool(jobs[0].Electrical))
	assert.False(t, bool(jobs[1].Electrical))
	parts, err := w.Lists.Spares.Parts()
	require.NoError(t, err)
	assert.True(t, bool(parts[0].Electrical))

	w.Config.Test.WithoutPoints = []string{"tension", "motor"}
	w.Config.Safety.NotElectrical = []string{"rewire"}
	points = asked()
	assert.NotContains(t, points, "tension")
	assert.NotContains(t, points, "motor")
	jobs, err = w.Lists.Bench.Jobs()
	require.NoError(t, err)
	assert.False(t, bool(jobs[0].Electrical))
}
