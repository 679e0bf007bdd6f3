package house_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/house"
	"pitman/registry/stock"
)

// What was written last stands in the log beside the registry. SQLite ends reading it at the first frame
// whose sum is wrong, and says nothing: what the house came to says it.
// https://www.sqlite.org/fileformat2.html#walformat
func TestFlippedBitsInTheLogBesideTheRegistryAreNoticed(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	h, err := house.Open(dir)
	require.NoError(t, err)
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close() // until then the log is there
	for range 4 {
		require.NoError(t, h.Workshop(db).Log(ctx, "QX", &stock.Machine{Maker: "Harrow & Finch",
			Serial: stock.NoSerial, Drive: registry.Hand}, false))
	}
	h.Note(ctx, db)
	before, err := db.Head(ctx)
	require.NoError(t, err)
	log := filepath.Join(dir, "pitman.db-wal")
	whole, err := os.ReadFile(log)
	require.NoError(t, err)
	const header, frame = 32, 24
	page := 4096
	frames := (len(whole) - header) / (frame + page)
	require.Greater(t, frames, 8)

	dice := rand.New(rand.NewPCG(18, 401))
	noticed, work := 0, filepath.Join(t.TempDir(), "work")
	flip := func(what string, at int, bit byte) {
		require.NoError(t, os.RemoveAll(work))
		require.NoError(t, os.CopyFS(work, os.DirFS(dir)))
		// it would be made anew after a crash
		require.NoError(t, os.Remove(filepath.Join(work, "pitman.db-shm")))
		hurt := append([]byte{}, whole...)
		hurt[at] ^= bit
		require.NoError(t, os.WriteFile(filepath.Join(work, "pitman.db-wal"), hurt, 0o600))
		after, err := headIn(work)
		if err != nil {
			noticed++
			return
		}
		assert.Equal(t, before, after, "not noticed: %s, byte %d, bit %x", what, at, bit)
	}
	flip("nothing", 0, 0)
	require.Zero(t, noticed)
	for at := 0; at < header; at += rounds(1, 5) {
		flip("the log's header", at, 1<<dice.IntN(8))
	}
	for n := 0; n < frames; n += rounds(1, 5) {
		flip("a frame's header", header+n*(frame+page)+dice.IntN(frame), 1<<dice.IntN(8))
		flip("a frame's page", header+n*(frame+page)+frame+dice.IntN(page), 1<<dice.IntN(8))
	}
	t.Logf("%d frames, %d flips noticed", frames, noticed)
	assert.Greater(t, noticed, 4)
}

// headIn is how far the history of a house has come that is opened as a command opens it, and has no fault.
func headIn(dir string) (head chain.Head, err error) {
	h, err := house.Open(dir)
	if err != nil {
		return head, err
	}
	db, err := h.Registry()
	if err != nil {
		return head, err
	}
	defer db.Close()
	if faults, err := h.Verify(ctx, db); err != nil || len(faults) > 0 {
		return head, registry.Errorf(registry.Conflict, "%v %v", faults, err)
	}
	return db.Head(ctx)
}
