package house_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"filippo.io/age"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/stock"
)

// at is a moment of the day on which these tests play, and keeps a dated backup of then.
func at(t *testing.T, h *house.House, hour int) (file string) {
	t.Helper()
	h.Now = func() time.Time { return time.Date(2031, 5, 4, hour, 0, 0, 0, time.UTC) }
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close()
	b, err := h.Backup(ctx, db, "")
	require.NoError(t, err)
	require.Empty(t, b.Undone)
	return b.File
}

// ofAnother puts the backup of a house that did more among those of this one.
func ofAnother(t *testing.T, h *house.House, hour int) (file string) {
	t.Helper()
	other, _ := newHouse(t)
	db, err := other.Registry()
	require.NoError(t, err)
	defer db.Close()
	for i := range 3 {
		m := stock.Machine{Maker: "Ostermann", Serial: fmt.Sprint("B", i), Drive: registry.Hand}
		require.NoError(t, other.Workshop(db).Log(ctx, "QX", &m, false))
	}
	file = filepath.Join(h.Dir, house.BackupsDir, fmt.Sprintf("pitman-2031-05-04T%02d0000Z.tar.gz", hour))
	_, err = other.Backup(ctx, db, file)
	require.NoError(t, err)
	return file
}

func TestARepairLeavesOutBackupsOfOtherHouses(t *testing.T) {
	h, _ := newHouse(t)
	own := at(t, h, 10)
	foreign := ofAnother(t, h, 9)
	require.NoError(t, os.WriteFile(filepath.Join(h.Dir, archive.DBFile), []byte("torn"), 0o600))
	r, err := h.Repair(ctx, filepath.Join(t.TempDir(), "mended"), nil, "", nil)
	require.NoError(t, err)
	assert.Equal(t, own, r.Backup)
	assert.Equal(t, int64(1), r.Machines)
	require.NotEmpty(t, r.Lost)
	assert.Regexp(t, "^backup "+foreign+": it is of another house", r.Lost[0])

	// Where nothing tells whose house it is, none of two is made of it.
	require.NoError(t, os.RemoveAll(filepath.Join(h.Dir, house.KnownFile)))
	require.NoError(t, os.Remove(filepath.Join(h.Dir, archive.ConfigFile)))
	into := filepath.Join(t.TempDir(), "mended")
	_, err = h.Repair(ctx, into, nil, "", nil)
	assert.ErrorContains(t, err, "the backups are of 2 houses")
	assert.NoDirExists(t, into)
}

func TestARepairMakesNoOtherHouseOfThisOne(t *testing.T) {
	h, _ := newHouse(t)
	other, _ := newHouse(t)
	theirs, err := os.ReadFile(filepath.Join(other.Dir, archive.DBFile))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(h.Dir, archive.DBFile), theirs, 0o600))
	into := filepath.Join(t.TempDir(), "mended")
	_, err = h.Repair(ctx, into, nil, "", nil)
	assert.ErrorContains(t, err, "or is another house's; name a backup")
	assert.NoDirExists(t, into)
}

func TestABackupOfAnotherHouseTellsNothingOfThisOne(t *testing.T) {
	h, _ := newHouse(t)
	at(t, h, 10)
	ofAnother(t, h, 11)
	require.NoError(t, os.RemoveAll(filepath.Join(h.Dir, house.KnownFile)))
	require.NoError(t, os.Remove(filepath.Join(h.Dir, house.BackupsDir, house.MadeFile)))
	db, err := h.Registry()
	require.NoError(t, err)
	require.NoError(t, db.Close())
}

// What is no good backup of this house pushes none out, nor is it the last good one.
func TestWhatIsNoBackupTakesNoPlaceOfOne(t *testing.T) {
	h, _ := newHouse(t)
	h.Config.Backup = archive.Config{Keep: 2}
	first, second := at(t, h, 10), at(t, h, 11)
	ofAnother(t, h, 12)
	require.NoError(t,
		os.WriteFile(filepath.Join(h.Dir, house.BackupsDir, "pitman-2031-05-04T130000Z.tar.gz"), nil,
			0o600))
	require.NoError(t, os.Truncate(second, 100))
	third := at(t, h, 14)
	assert.FileExists(t, first)
	assert.Equal(t, 14, h.LastGood().Hour())
	require.NoError(t, os.Truncate(third, 100))
	assert.Equal(t, 10, h.LastGood().Hour())
}

// Nobody without the key can read what an encrypted one knows; the house has noted it of both copies.
func TestEncryptedBackupsMakeRoomOnTheSecondDisk(t *testing.T) {
	h, _ := newHouse(t)
	key, err := age.GenerateX25519Identity()
	require.NoError(t, err)
	h.Config.Backup = archive.Config{Keep: 1, Also: t.TempDir(), ForTo: []string{key.Recipient().String()}}
	h.TrialKeys = []age.Identity{key}
	at(t, h, 10)
	at(t, h, 11)
	kept, err := os.ReadDir(h.Config.Backup.Also)
	require.NoError(t, err)
	assert.Len(t, kept, 1)
}

// A restore or repair that was killed left a whole registry behind; the next one beside it clears it away,
// but not that of one which still runs, here or on another computer.
func TestWhatAKilledRestoreLeftIsCleared(t *testing.T) {
	_, backup := newHouse(t)
	parent := t.TempDir()
	host, err := os.Hostname()
	require.NoError(t, err)
	made := func(name string) string {
		folder := filepath.Join(parent, name)
		require.NoError(t, os.MkdirAll(filepath.Join(folder, "photos"), 0o700))
		return folder
	}
	const nobody = 1 << 30 // no system numbers its processes so high
	killed := made(fmt.Sprintf(".pitman-restore-%d@%s-1", nobody, host))
	making := made(fmt.Sprintf(".pitman-init-%d@%s-1", nobody, host))
	mending := made(fmt.Sprintf(".pitman-repair-%d@%s-1", nobody, host))
	stays := []string{made(fmt.Sprintf(".pitman-restore-%d@%s-2", os.Getpid(), host)),
		made(fmt.Sprintf(".pitman-restore-%d@%s.away-3", nobody, host)), made(".pitman-restore-4"),
		made(".pitman-restore-notes")}
	old := made(".pitman-restore-5")
	require.NoError(t, os.Chtimes(old, time.Now(), time.Now().Add(-25*time.Hour)))
	_, err = house.Restore(ctx, backup, filepath.Join(parent, "again"), "")
	require.NoError(t, err)
	for _, folder := range []string{killed, making, mending, old} {
		assert.NoDirExists(t, folder)
	}
	for _, folder := range stays {
		assert.DirExists(t, folder)
	}
}
