package house_test

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/forget"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// The only backup is from before the house had a chain, so that nothing ties it to what was done since. The
// registry proves all of it by itself, and a name that was forgotten stays so.
func TestARepairKnowsABackupFromBeforeTheChain(t *testing.T) {
	h, _ := newHouse(t)
	h.Config.House.ID = ""
	config, err := os.ReadFile(filepath.Join(h.Dir, archive.ConfigFile))
	require.NoError(t, err)
	config = regexp.MustCompile(`(?m)^id = .*\n`).ReplaceAll(config, nil) // which none of then has
	require.NoError(t, os.WriteFile(filepath.Join(h.Dir, archive.ConfigFile), config, 0o600))
	older(t, filepath.Join(h.Dir, archive.DBFile))
	raw := registrytest.Raw(t, filepath.Join(h.Dir, archive.DBFile))
	_, err = raw.Exec(`DROP TRIGGER change_stays; UPDATE machine SET donor = 'Ada Merrow'; UPDATE change SET fields =
		replace (fields, '"maker"', '"donor":[null,"Ada Merrow"],"maker"');
		CREATE TRIGGER change_stays BEFORE UPDATE ON change BEGIN SELECT RAISE (ABORT, 'history is append-only'); END`)
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	db, err := h.Registry() // which makes the backup
	require.NoError(t, err)
	defer db.Close()
	w := h.Workshop(db)
	require.NoError(t, w.Log(ctx, "QX", &stock.Machine{Maker: "A", Serial: "2", Drive: registry.Hand}, false))
	_, err = w.Forget(ctx, "QX", forget.Who{Donor: "Ada Merrow"}, false)
	require.NoError(t, err)
	into := filepath.Join(t.TempDir(), "mended")
	r, err := h.Repair(ctx, into, nil, "", nil)
	require.NoError(t, err)
	assert.Equal(t, int64(2), r.Machines)
	assert.Empty(t, r.Backup)
	assert.Empty(t, r.Lost)
	assert.Empty(t, r.Faults)
	file, err := os.ReadFile(filepath.Join(into, archive.DBFile))
	require.NoError(t, err)
	assert.NotContains(t, string(file), "Ada Merrow")

	// Where its chain is broken at the first link the backup is all there is, and knows of no forgetting.
	raw = registrytest.Raw(t, filepath.Join(h.Dir, archive.DBFile))
	_, err = raw.Exec("DROP TRIGGER link_stays; UPDATE link SET sum = 'f00d' WHERE id = 1")
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	r, err = h.Repair(ctx, filepath.Join(t.TempDir(), "mended"), nil, "", nil)
	require.NoError(t, err)
	assert.Equal(t, int64(1), r.Machines)
	assert.NotEmpty(t, r.Backup)
	assert.Contains(t, r.Lost,
		"that somebody was forgotten: the name stands again with PM16; forget it once more")
	assert.Empty(t, r.Faults)
}
