package house_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// A list is read once and shared by whoever asks for it: what is left out for one machine must be there for
// the next.
func TestAListServesEveryDrive(t *testing.T) {
	points := []bench.TestPoint{{Point: "crank", Drives: registry.DriveSet{registry.Hand}}, {Point: "turns"},
		{Point: "motor", Drives: registry.DriveSet{registry.Electric}}}
	jobs := []bench.BenchJob{{Job: "crank", Drives: registry.DriveSet{registry.Hand}}, {Job: "oil"},
		{Job: "brushes", Drives: registry.DriveSet{registry.Electric}}}
	parts := []spares.PartKind{{Part: "crank", Drives: registry.DriveSet{registry.Hand}}, {Part: "needle"},
		{Part: "motor", Drives: registry.DriveSet{registry.Electric}}}
	config := house.Defaults()
	config.Test.WithoutPoints = []string{"all"}
	w := house.NewWorkshop(nil, config, house.Lists{
		Bench: bench.Lists{Points: func() ([]bench.TestPoint, error) { return points, nil },
			Jobs: func() ([]bench.BenchJob, error) { return jobs, nil }},
		Spares: spares.Lists{Parts: func() ([]spares.PartKind, error) { return parts, nil }},
	}, nil, nil)
	for range 2 {
		for drive, want := range map[registry.Drive]int{registry.Hand: 2, registry.Treadle: 1,
			registry.Electric: 2} {
			m := &stock.Machine{Drive: drive}
			p, err := w.PointsFor(m)
			require.NoError(t, err)
			j, err := w.JobsFor(m)
			require.NoError(t, err)
			k, err := w.PartsFor(m)
			require.NoError(t, err)
			require.Equal(t, []int{want, want, want}, []int{len(p), len(j), len(k)}, drive)
		}
	}
	require.Equal(t, "motor", points[2].Point)
}
