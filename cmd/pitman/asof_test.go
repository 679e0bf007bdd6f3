package main

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/sent"
	"pitman/registry/stock"
)

// Two people work on one machine: readings from before the other one's work are no readings of it.
func TestReadingsAreOfTheMachineAsItWas(t *testing.T) {
	var out bytes.Buffer
	a := &app{in: &bytes.Buffer{}, out: &out, err: &out, houseDir: filepath.Join(t.TempDir(), "house"),
		now: func() time.Time { return scriptTime("") }}
	ctx := context.Background()
	require.Zero(t, a.run(ctx, []string{"--house", a.houseDir, "init"}), out.String())
	require.NoError(t, a.with(func(d *workplace) error {
		d.Config.Safety.Competent = []string{"RS"}
		m := &stock.Machine{Maker: "Tamarisk", Serial: "1", Drive: registry.Electric}
		require.NoError(t, d.Log(ctx, "QX", m, false))
		_, err := d.Triage(ctx, "QX", m.Tag, "refurbish", "complete", "")
		require.NoError(t, err)
		then, err := asOf(ctx, d, m.Tag)
		require.NoError(t, err)
		_, err = d.BenchStart(ctx, "MB", m.Tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = d.BenchFinish(ctx, "MB", m.Tag, bench.WorkNote{})
		require.NoError(t, err)

		form := electrical.SafetyForm{Class: "II", Visual: "fail"}
		_, _, err = d.Safety(then, "RS", m.Tag, form)
		var outdated *sent.Outdated
		require.ErrorAs(t, err, &outdated)
		assert.Equal(t, m.Tag, registry.Tag(outdated.Subject))
		now, err := asOf(ctx, d, m.Tag)
		require.NoError(t, err)
		_, _, err = d.Safety(now, "RS", m.Tag, form)
		return err
	}))
}
