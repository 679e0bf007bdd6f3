package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitman/registry/reports"
)

// A wall is read without the screen beside it: the first of December is that of this year, and a sheet that
// is too short for all says so.
func TestPosterNamesAnotherYearAndWhatItLeavesOut(t *testing.T) {
	now := time.Date(2031, 11, 27, 9, 0, 0, 0, time.UTC)
	var tasks []reports.Task
	days := []string{"2030-12-01", "2031-01-05", "2031-12-01", "2032-01-02", "2032-12-01", ""}
	for _, due := range days {
		tasks = append(tasks, reports.Task{Do: "pack", For: "bench", Due: due})
	}
	p := poster(tasks, "", now)
	for i, day := range []string{"2030", "5 Jan", "1 Dec", "2 Jan", "2032", ""} {
		assert.Equal(t, day, p.Lines[i].Day, days[i])
	}
	assert.NotContains(t, p.Foot, "most urgent")
	assert.Contains(t, poster(append(tasks, append(tasks, tasks...)...), "", now).Foot,
		"The 12 most urgent of 18 lines.")
}
