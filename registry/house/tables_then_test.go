package house_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/archive"
	"pitman/registry/house"
)

func TestChangesOfTables(t *testing.T) {
	h, _ := newHouse(t)
	tables := filepath.Join(h.Dir, archive.TablesDir)
	write := func(texts map[string]string) {
		for name, text := range texts {
			require.NoError(t, os.WriteFile(filepath.Join(tables, name), []byte(text), 0o600))
		}
	}
	write(map[string]string{"a.csv": "maker,first\r\nQuill,1\r\nFenn,2\r\nFenn,2\r\n\r\n", "gone.csv": "x",
		"same.csv": "a;b\nÉ;1\n;;\n"})
	at(t, h, 10)
	require.NoError(t, os.Remove(filepath.Join(tables, "gone.csv")))
	write(map[string]string{"a.csv": "maker,first\nFenn,2\nQuill,3\nQuill,1\n", "new.csv": "y",
		"same.csv": "a;b\r\xc9;1\r"}) // saved by another program
	at(t, h, 11)
	got, err := h.TableHistory(nil)
	require.NoError(t, err)
	then := func(hour int) time.Time { return time.Date(2031, 5, 4, hour, 0, 0, 0, time.UTC) }
	change := func(file, what string, added, removed []string) house.TableChange {
		return house.TableChange{After: then(10), Before: then(11), File: file, What: what, Added: added,
			Removed: removed}
	}
	assert.Equal(t, &house.TableHistory{Backups: 2, First: then(10), Unread: []string{}, Changes: []house.TableChange{
		change("a.csv", "changed", []string{"Quill,3"}, []string{"Fenn,2"}),
		change("gone.csv", "gone", []string{}, []string{"x"}),
		change("new.csv", "new", []string{"y"}, []string{}),
	}}, got)
}
