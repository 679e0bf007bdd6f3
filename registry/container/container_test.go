package container_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/container"
)

// What freight forwarders print for the floors of ISO 668: 11 pallets of 1200 × 800 in 20 ft and 23 to 25 in
// 40 ft; 9 or 10 of 1200 × 1000, and 20 or 21. On the least insides, 24 and 21 are the most in 40 ft, found
// by an independent layout.
func TestPublishedFloors(t *testing.T) {
	assert.Equal(t, 11, container.Fits(container.Twenty, 1200, 800))
	assert.Equal(t, 24, container.Fits(container.Forty, 1200, 800))
	assert.Equal(t, 10, container.Fits(container.Twenty, 1200, 1000))
	assert.Equal(t, 21, container.Fits(container.Forty, 1200, 1000))
	assert.Zero(t, container.Fits(container.Twenty, 6000, 5900))
}

func holds(t *testing.T, floor container.Box, kinds []container.Kind, l container.Layout) {
	t.Helper()
	used := make([]int, len(kinds))
	for i, s := range l.Spots {
		used[s.Kind]++
		k := kinds[s.Kind]
		require.Contains(t, [][2]int{{k.Length, k.Width}, {k.Width, k.Length}}, [2]int{s.Length, s.Width})
		require.True(t, s.X >= 0 && s.Y >= 0 && s.X+s.Length <= floor.Length && s.Y+s.Width <= floor.Width)
		for _, o := range l.Spots[i+1:] {
			apart := s.X+s.Length <= o.X || o.X+o.Length <= s.X || s.Y+s.Width <= o.Y || o.Y+o.Width <= s.Y
			require.True(t, apart, "%v on %v", s, o)
		}
	}
	for i, k := range kinds {
		require.LessOrEqual(t, used[i], k.Count)
	}
}

// brute tries every pallet at every place of a small floor.
func brute(floor container.Box, kinds []container.Kind) int {
	taken := make([]bool, floor.Length*floor.Width)
	free := func(x, y, l, w int, put, now bool) bool {
		for i := x; i < x+l; i++ {
			for j := y; j < y+w; j++ {
				if put {
					taken[i*floor.Width+j] = now
				} else if taken[i*floor.Width+j] {
					return false
				}
			}
		}
		return true
	}
	var most func(at int) int
	most = func(at int) int {
		if at == len(taken) {
			return 0
		}
		best := most(at + 1)
		x, y := at/floor.Width, at%floor.Width
		for i := range kinds {
			k := &kinds[i]
			for _, t := range [][2]int{{k.Length, k.Width}, {k.Width, k.Length}} {
				if k.Count == 0 || x+t[0] > floor.Length || y+t[1] > floor.Width ||
					!free(x, y, t[0], t[1], false, false) {
					continue
				}
				k.Count--
				free(x, y, t[0], t[1], true, true)
				best = max(best, 1+most(at+1))
				free(x, y, t[0], t[1], true, false)
				k.Count++
			}
		}
		return best
	}
	return most(0)
}

// On small floors, what is said to be exact equals trying everything, and a bound is never too low.
func TestLayoutBesideBruteForce(t *testing.T) {
	dice := rand.New(rand.NewPCG(668, 1))
	exact := 0
	for range 150 {
		floor := container.Box{Length: 3 + dice.IntN(3), Width: 2 + dice.IntN(2)}
		kinds := make([]container.Kind, 1+dice.IntN(2))
		for i := range kinds {
			kinds[i] = container.Kind{1 + dice.IntN(3), 1 + dice.IntN(3), 1 + dice.IntN(3)}
		}
		l := container.Lay(floor, kinds)
		holds(t, floor, kinds, l)
		want := brute(floor, kinds)
		require.LessOrEqual(t, len(l.Spots), want)
		require.GreaterOrEqual(t, l.Bound, want, "%v %v", floor, kinds)
		if l.Exact {
			exact++
			require.Equal(t, want, len(l.Spots), "%v %v", floor, kinds)
		}
	}
	assert.Greater(t, exact, 120)
}

// So many more pallets stand beside others as trying everything finds, where the plan is exact.
func TestRoomBesideBruteForce(t *testing.T) {
	dice := rand.New(rand.NewPCG(668, 2))
	equal := 0
	for range 80 {
		floor := container.Box{Length: 3 + dice.IntN(3), Width: 2 + dice.IntN(2)}
		kinds := []container.Kind{{1 + dice.IntN(2), 1 + dice.IntN(3), 1 + dice.IntN(2)}}
		length, width := 2, 1+dice.IntN(2)
		most := 0
		for n := 1; n*length*width <= floor.Length*floor.Width &&
			brute(floor, append([]container.Kind{{length, width, n}}, kinds...)) == n+kinds[0].Count; n++ {
			most = n
		}
		got := container.Room(floor, kinds, length, width)
		require.LessOrEqual(t, got, most, "%v %v beside %d × %d", floor, kinds, length, width)
		if got == most {
			equal++
		}
	}
	assert.Greater(t, equal, 76)
	assert.Equal(t, 10, container.Room(container.Twenty, nil, 1200, 1000))
	assert.Zero(t, container.Room(container.Twenty, nil, 0, 1000))
}

// A mixed load of a full lorry keeps within the floor, and says how sure it is.
func TestMixedLoad(t *testing.T) {
	kinds := []container.Kind{{1200, 1000, 9}, {1200, 800, 9}, {1140, 1140, 6}}
	l := container.Lay(container.Forty, kinds)
	holds(t, container.Forty, kinds, l)
	assert.Greater(t, len(l.Spots), 20)
}
