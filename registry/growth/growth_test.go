package growth_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/growth"
	"pitman/registry/house"
)

var ctx = context.Background()

func TestAGrownHouseIsAsSoundAsAWorkedOne(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	h, err := house.Open(dir)
	require.NoError(t, err)
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, growth.Fill(ctx, h, db, 300))
	faults, err := db.Verify(ctx, "PM", nil)
	require.NoError(t, err)
	assert.Empty(t, faults)
	now, err := db.Summary(ctx)
	require.NoError(t, err)
	assert.Equal(t, int64(300), now.Machines)
	assert.Greater(t, now.Actions, int64(500))
}
