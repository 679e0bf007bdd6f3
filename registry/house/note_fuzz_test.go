package house_test

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry/house"
	"pitman/registry/stock"
)

// A note that lies in a house may say anything: what it names goes only where it is a working folder whose
// maker is gone, and nothing beside it ever does. DIR stands for the folder of backups, HOST for this
// computer.
func FuzzNoteOfABackup(f *testing.F) {
	for _, seed := range []string{"999999999@HOST DIR/.pitman-backup-1\n", "1@HOST DIR/.pitman-backup-1\n",
		"0@HOST DIR/.pitman-backup-1\n", "-1@HOST DIR/.pitman-backup-1\n",
		"999999999@elsewhere DIR/.pitman-backup-1\n",
		"999999999@HOST DIR/kept\n", "999999999@HOST DIR/.pitman-backup-1/..\n",
		"999999999@HOST .pitman-backup-1\n",
		"999999999@HOST DIR/.pitman-backup-1", "999999999@HOST DIR/kept/../.pitman-backup-1\n", "", "\n",
		"@ "} {
		f.Add(seed, true)
		f.Add(seed, false)
	}
	dir := filepath.Join(f.TempDir(), "house")
	_, err := house.Init(dir, stock.HouseConfig{Name: "Lantern Row", Letters: "LR", Zone: "UTC"})
	require.NoError(f, err)
	h, err := house.Open(dir)
	require.NoError(f, err)
	host, err := os.Hostname()
	require.NoError(f, err)
	folder := filepath.Join(dir, house.BackupsDir)
	work, kept := filepath.Join(folder, ".pitman-backup-1"), filepath.Join(folder, "kept", "in-it")
	require.NoError(f, os.MkdirAll(kept, 0o700))
	note := filepath.Join(folder, ".pitman-backup-2.note")
	f.Fuzz(func(t *testing.T, text string, old bool) {
		text = strings.NewReplacer("DIR", folder, "HOST", strings.Join(strings.Fields(host),
			"")).Replace(text)
		require.NoError(t, os.MkdirAll(work, 0o700))
		require.NoError(t, os.WriteFile(note, []byte(text), 0o600))
		if old {
			aged := time.Now().Add(-25 * time.Hour)
			require.NoError(t, os.Chtimes(note, aged, aged))
		}
		db, err := h.Registry()
		require.NoError(t, err)
		require.NoError(t, db.Close())
		require.DirExists(t, kept)
		maker, names, _ := strings.Cut(text, " ")
		pid, _, _ := strings.Cut(maker, "@")
		n, err := strconv.Atoi(pid)
		_, gone := os.Stat(work)
		if gone != nil {
			require.NoError(t, err)
			require.Equal(t, work, filepath.Clean(strings.TrimSuffix(names, "\n")))
			require.True(t, old || n != os.Getpid() && n != 1, "its maker runs")
		}
		if _, err := os.Stat(note); !old { // it may be in the middle of being written
			require.True(t, err == nil || names != "", "none goes that says nothing yet")
		}
	})
}

// A folder whose maker is gone goes with its note; one whose maker runs stays with it.
func TestWorkOfAKilledBackupGoes(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, stock.HouseConfig{Name: "Lantern Row", Letters: "LR", Zone: "UTC"})
	require.NoError(t, err)
	h, err := house.Open(dir)
	require.NoError(t, err)
	host, err := os.Hostname()
	require.NoError(t, err)
	work := filepath.Join(dir, house.BackupsDir, ".pitman-backup-1")
	for pid, stays := range map[int]bool{999999999: false, os.Getpid(): true} {
		require.NoError(t, os.MkdirAll(work, 0o700))
		require.NoError(t, os.WriteFile(work+".note",
			[]byte(strconv.Itoa(pid)+"@"+strings.Join(strings.Fields(host), "")+" "+work+"\n"), 0o600))
		db, err := h.Registry()
		require.NoError(t, err)
		require.NoError(t, db.Close())
		for _, path := range []string{work, work + ".note"} {
			_, err := os.Stat(path)
			require.Equal(t, stays, err == nil, path)
		}
	}
}
