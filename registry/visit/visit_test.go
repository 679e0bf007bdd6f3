package visit_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/neighbours"
	"pitman/registry/stock"
	"pitman/registry/visit"
)

var (
	ctx = context.Background()
	now = time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
)

func newHouse(t *testing.T, name, letters string) *house.House {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "house")
	first := house.Defaults().House
	first.Name, first.Letters = name, letters
	_, err := house.Init(dir, first)
	require.NoError(t, err)
	h, err := house.Open(dir)
	require.NoError(t, err)
	h.Now = func() time.Time { return now }
	return h
}

// Whatever a file of another house may be, it is kept as it tells or refused in a sentence, and neither
// changes this house.
func TestOnlyTheStockOfANeighbourIsKept(t *testing.T) {
	there, ours := newHouse(t, "Nether Quoin", "NQ"), newHouse(t, "Lantern Row", "LR")
	db, err := there.Registry()
	require.NoError(t, err)
	w := there.Workshop(db)
	for _, serial := range []string{"7", "8"} {
		require.NoError(t,
			w.Log(ctx, "QX", &stock.Machine{Maker: "Orlop", Serial: serial, Drive: registry.Hand,
				Donor: "Ada"}, false))
	}
	require.NoError(t, w.AddBase(ctx, "QX", &stock.Base{Pattern: "Elm", Place: "yard"}))
	head, err := db.Head(ctx)
	require.NoError(t, err)
	key, err := db.Key(ctx)
	require.NoError(t, err)
	folder := t.TempDir()
	file := func(name string, text []byte) string {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, text, 0o600))
		return path
	}
	bundle := func(at time.Time, name string, signed bool) []byte {
		var out bytes.Buffer
		b, err := exchange.NewBundle(&out,
			exchange.Head{House: name, Letters: "NQ", To: "Lantern Row", At: at,
				Chain: &head})
		require.NoError(t, err)
		_, err = w.HandOver(ctx, "QX", exchange.HandOverOptions{To: "Lantern Row"}, b.Add)
		require.NoError(t, err)
		if signed {
			require.NoError(t, b.Sign(key))
		} else {
			require.NoError(t, b.Close())
		}
		return out.Bytes()
	}
	backup := filepath.Join(folder, "nq.tar.gz")
	_, err = there.Backup(ctx, db, backup)
	require.NoError(t, err)
	good := bundle(now.Add(time.Hour), "Nether Quoin", true)
	read := func(path string, by *house.House, id string) (*neighbours.House, error) {
		return visit.Read(ctx, path, "EZ", by, id, nil)
	}

	got, err := read(backup, ours, "")
	require.NoError(t, err)
	assert.Equal(t, []string{"Nether Quoin", "NQ", "backup"}, []string{got.Name, got.Letters, got.Source})
	assert.Len(t, got.Heads, 2)
	assert.Len(t, got.Bases, 1)
	require.NoError(t, got.Keep(ours.Dir))
	got, err = read(file("good", good), ours, "")
	require.NoError(t, err, "a signed bundle behind a backup of the same history")
	assert.Len(t, got.Heads, 2)
	assert.Equal(t, "yard", got.Bases[0].Place)
	assert.Empty(t, got.Heads[0].Donor)
	require.NoError(t, got.Keep(ours.Dir))

	text := unzip(t, good)
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"nothing":         {nil, "is no backup of pitman, or is damaged"},
		"no gzip":         {[]byte("hello"), "is no backup of pitman, or is damaged"},
		"cut off":         {good[:len(good)-20], "the bundle"},
		"a word changed":  {zip(strings.Replace(text, "Orlop", "Orlup", 1)), "checksum is wrong"},
		"a newer version": {zip(strings.Replace(text, `"version":1`, `"version":7`, 1)), "version 7"},
		"of tomorrow":     {bundle(now.AddDate(0, 0, 2), "Nether Quoin", true), "yet to come"},
		"before its time": {bundle(now.AddDate(0, 0, -9), "Nether Quoin", true), "which was later"},
		"unsigned":        {bundle(now, "Nether Quoin", false), "was signed by the key"},
		"another house":   {bundle(now, "Fern Hill", true), "are those of Nether Quoin"},
	} {
		_, err := read(file("forged", c.file), ours, "")
		assert.ErrorContains(t, err, c.want, name)
		assert.NotEmpty(t, registry.CodeOf(err), name)
	}
	_, err = read(file("good", good), there, "")
	assert.ErrorContains(t, err, "which is this house")
	_, err = read(file("good", good), ours, head.House)
	assert.ErrorContains(t, err, "which is this house", "under other letters, too")
	_, err = read(backup, ours, "")
	assert.ErrorContains(t, err, "which is later", "what is kept is newer")
	require.NoError(t, db.Close())

	db, err = ours.Registry()
	require.NoError(t, err)
	known, err := db.Summary(ctx)
	require.NoError(t, err)
	assert.Zero(t, known.Actions)
	require.NoError(t, db.Close())
}

func unzip(t *testing.T, file []byte) string {
	z, err := gzip.NewReader(bytes.NewReader(file))
	require.NoError(t, err)
	text, err := io.ReadAll(z)
	require.NoError(t, err)
	return string(text)
}

func zip(text string) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	_, _ = io.WriteString(z, text)
	_ = z.Close()
	return out.Bytes()
}
