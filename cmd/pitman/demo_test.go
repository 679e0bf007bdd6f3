package main

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The demo's sewing day is a Saturday, and all that is done in its two weeks lies behind whoever looks at it.
func TestDemoDayMovesWithToday(t *testing.T) {
	for d := range 800 {
		now := time.Date(2027, 1, 1+d, 0, 30, 0, 0, time.UTC)
		day := demoDay(now)
		assert.Equal(t, time.Saturday, day.Weekday(), now)
		ago := now.Sub(day).Hours() / 24
		assert.True(t, ago > 14 && ago < 22, "%v ago on %v", ago, now)
	}
	assert.Equal(t, "2026-09-05",
		demoDay(time.Date(2026, 9, 21, 10, 0, 0, 0, time.UTC)).Format(time.DateOnly))
}

func TestAnInterruptedDemoLeavesNoFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	steps := 0
	var out bytes.Buffer
	a := &app{in: &bytes.Buffer{}, out: &out, err: &out, pinCost: cheapPIN, sleep: noSleep,
		now: func() time.Time {
			if steps++; steps == 2 {
				stop()
			}
			return scriptTime("")
		}}
	require.NotZero(t, a.run(ctx, []string{"demo", dir}), out.String())
	assert.NoDirExists(t, dir)
}
