package sqlite_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

func find(t *testing.T, store stock.Store, text string) (tags []string) {
	t.Helper()
	require.NoError(t, store.View(ctx, func(r stock.Reader) error {
		return r.Machines(stock.MachineFilter{Text: text}, func(m *stock.Machine) error {
			tags = append(tags, string(m.Tag))
			return nil
		})
	}))
	return tags
}

func TestTextIsFoundAnywhereInAField(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	long := strings.Repeat("a drawer full of bobbins, ", 70) + "and one key"
	for _, m := range []*stock.Machine{
		{Maker: "Willcox & Gibbs", Serial: "K20417", Drive: registry.Hand, Note: "key in the drawer"},
		{Maker: "Østergård", Serial: "none", Drive: registry.Hand, Place: "cupboard ½"},
		{Maker: "Harrow & Finch", Serial: "7", Drive: registry.Hand, Note: long},
	} {
		require.NoError(t, w.Log(ctx, "QX", m, false))
	}
	for text, want := range map[string][]string{
		"0417":          {"PM16"},
		"K204":          {"PM16"},
		"the drawer":    {"PM16"},
		"THE DRAWER":    {"PM16"},
		"upboard":       {"PM24"},
		"Østergård":     {"PM24"},
		"stergå":        {"PM24"},
		"½":             {"PM24"},
		"d ½":           {"PM24"},
		"x &":           {"PM16"},
		"& ":            {"PM16", "PM32"},
		"7":             {"PM16", "PM32"},
		"and one key":   {"PM32"},
		long:            {"PM32"},
		"PM2":           {"PM24"},
		"drawer key":    nil,
		"eys":           nil,
		"hand":          nil, // drive is a filter of its own
		"OR":            nil,
		`" OR 1 --`:     nil,
		"key AND NOT *": nil,
	} {
		assert.Equal(t, want, find(t, w.Store, text), "%.40q", text)
	}

	// What a field no longer holds is not found, and is again once it is back.
	_, err := w.Amend(ctx, "QX", "PM16", "",
		func(m *stock.Machine) error { m.Note = "lid missing"; return nil })
	require.NoError(t, err)
	assert.Empty(t, find(t, w.Store, "the drawer"))
	assert.Equal(t, []string{"PM16"}, find(t, w.Store, "lid miss"))
	_, err = w.Amend(ctx, "QX", "PM16", "",
		func(m *stock.Machine) error { m.Note = "in the drawer"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []string{"PM16"}, find(t, w.Store, "the drawer"))
	assert.Empty(t, find(t, w.Store, "lid miss"))
}

func TestMachinesOfAnOlderSchemaAreFoundByText(t *testing.T) {
	script, err := os.ReadFile("schema/migrations/001.sql")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "pitman.db")
	raw := registrytest.Raw(t, path)
	_, err = raw.Exec(string(script) + `;
		INSERT INTO machine (tag, maker, serial, drive, stage, year_basis, model, stitch, donor, condition, place, note, patents,
			patent_years, seen, dated_by, arrived_with, logged_at, logged_by, stage_since, maker_key, serial_key)
		VALUES ('PM16', 'Østergård', '1', 'hand', 'logged', 'none', '', 'lockstitch', '', '', '', 'Key in the drawer', '[]', '[]', '[]', '[]',
			'', '2001-01-01T00:00:00.000Z', '', '2001-01-01T00:00:00.000Z', '', '');
		PRAGMA user_version = 1`)
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	defer db.Close()
	for _, text := range []string{"key in", "stergå", "rawer", "PM1"} {
		assert.Equal(t, []string{"PM16"}, find(t, db, text), text)
	}
	assert.Empty(t, find(t, db, "drawer key"))
}
