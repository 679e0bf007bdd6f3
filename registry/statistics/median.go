package statistics

import (
	"slices"
	"time"
)

// Median is the middle of the values, or halfway between the middle two; ok is false when there are none.
func Median(values []float64) (value float64, ok bool) {
	if len(values) == 0 {
		return 0, false
	}
	sorted := slices.Sorted(slices.Values(values))
	middle := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[middle], true
	}
	return sorted[middle-1] + (sorted[middle]-sorted[middle-1])/2, true
}

// DaysBetween is a stay as days and parts of one, as medians of days per stage are counted.
func DaysBetween(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 }
