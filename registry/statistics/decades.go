package statistics

import (
	"fmt"
	"slices"
)

// Bar is one bar of a chart.
type Bar struct {
	Label string `json:"label"`
	Count int    `json:"count"`
}

// yearUnknown labels the machines whose decade nobody can tell, those whose years lie in two decades
// included.
const yearUnknown = "unknown"

// DecadeOf is the first year of the decade a machine was made in: from its best year, or from bounds that lie
// in one decade. Nil means not known, as everywhere with years.
func DecadeOf(from, to, best *int) (decade int, ok bool) {
	if best != nil {
		return *best / 10 * 10, true
	}
	if from != nil && to != nil && *from/10 == *to/10 {
		return *from / 10 * 10, true
	}
	return 0, false
}

// ByDecade counts machines by decade, oldest first. Decades between the first and the last stand even when
// empty, so that the chart is a time line; the unknown come last.
func ByDecade(decades []int, unknown int) []Bar {
	var bars []Bar
	if len(decades) > 0 {
		count := map[int]int{}
		for _, d := range decades {
			count[d]++
		}
		for d := slices.Min(decades); d <= slices.Max(decades); d += 10 {
			bars = append(bars, Bar{fmt.Sprintf("%ds", d), count[d]})
		}
	}
	if unknown > 0 {
		bars = append(bars, Bar{yearUnknown, unknown})
	}
	return bars
}
