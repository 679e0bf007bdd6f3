package registry

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A list is read once and shared by whoever asks for it: what is left out for one machine must be there for the next.
func TestAListServesEveryDrive(t *testing.T) {
	points := []TestPoint{{Point: "crank", Drives: DriveSet{Hand}}, {Point: "turns"}, {Point: "motor", Drives: DriveSet{Electric}}}
	jobs := []BenchJob{{Job: "crank", Drives: DriveSet{Hand}}, {Job: "oil"}, {Job: "brushes", Drives: DriveSet{Electric}}}
	parts := []PartKind{{Part: "crank", Drives: DriveSet{Hand}}, {Part: "needle"}, {Part: "motor", Drives: DriveSet{Electric}}}
	w := &Workshop{Lists: Lists{
		Points: func() ([]TestPoint, error) { return points, nil },
		Jobs:   func() ([]BenchJob, error) { return jobs, nil },
		Parts:  func() ([]PartKind, error) { return parts, nil },
	}}
	for range 2 {
		for drive, want := range map[Drive]int{Hand: 2, Treadle: 1, Electric: 2} {
			m := &Machine{Drive: drive}
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
