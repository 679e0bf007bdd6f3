package neighbours_test

import (
	"bytes"
	"compress/gzip"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/measure"
	"pitman/registry/neighbours"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

var day = time.Date(2031, 3, 3, 12, 0, 0, 0, time.UTC)

// What is kept is read again as it was, but for what is nobody else's business.
func TestStockIsReadAsItWasKept(t *testing.T) {
	dir := t.TempDir()
	year := 1921
	m := stock.Machine{Tag: "NQ16", Maker: "Orlop", Serial: "7", Drive: registry.Electric,
		Stage: registry.Ready,
		From:  &year, Model: "Swift", Donor: "Ada", Note: "from the attic", LoggedBy: "QX",
		Weight:   11 * measure.Kilogram,
		LoggedAt: day}
	m.BedLength, m.Pins, m.Groove = 371*measure.Millimetre, 241*measure.Millimetre, stock.Yes
	m.Plate = electrical.Nameplate{Watts: 85}
	m.SafetyAt, m.SafetyBy = day, "EL"
	b := stock.Base{Tag: "NQ24", Stage: registry.Ready, Pattern: "Elm", Donor: "Ada",
		Flywheel: 305 * measure.Millimetre,
		Parts:    registry.List[string]{"legs"}, Weight: 22 * measure.Kilogram}
	h := &neighbours.House{Letters: "NQ", Name: "Nether Quoin", AsOf: day, Heads: []stock.Machine{m},
		Bases: []stock.Base{b}}
	h.Slim()
	require.NoError(t, h.Keep(dir))
	got, err := neighbours.Of(dir, "NQ")
	require.NoError(t, err)
	want := m
	want.Donor, want.Note, want.LoggedBy, want.SafetyBy = "", "", "", ""
	want.Key()
	got.Heads[0].Patents, got.Heads[0].PatentYears, got.Heads[0].Seen = nil, nil, nil
	got.Heads[0].DatedBy, got.Heads[0].Clues, got.Heads[0].DatedRows, got.Heads[0].Mains = nil, nil, nil, nil
	assert.Equal(t, want, got.Heads[0])
	b.Donor = ""
	assert.Equal(t, b, got.Bases[0])
	text, err := os.ReadFile(filepath.Join(dir, neighbours.Folder, "NQ.json.gz"))
	require.NoError(t, err)
	zip, err := gzip.NewReader(bytes.NewReader(text))
	require.NoError(t, err)
	var all bytes.Buffer
	_, err = all.ReadFrom(zip)
	require.NoError(t, err)
	for _, private := range []string{"Ada", "attic", `"QX"`, `"EL"`} {
		assert.NotContains(t, all.String(), private)
	}

	// A bit that fell over is a fault, and what cannot be read can be dropped.
	text[len(text)/2] ^= 1
	require.NoError(t, os.WriteFile(filepath.Join(dir, neighbours.Folder, "NQ.json.gz"), text, 0o600))
	_, err = neighbours.All(dir)
	assert.ErrorContains(t, err, "is damaged")
	faults, err := neighbours.Faults(dir)
	require.NoError(t, err)
	assert.Len(t, faults, 1)
	require.NoError(t, neighbours.Drop(dir, "NQ"))
	assert.Equal(t, registry.NotFound, registry.CodeOf(neighbours.Drop(dir, "NQ")))
	assert.Equal(t, registry.NotFound, registry.CodeOf(neighbours.Drop(dir, "../x")))
}

// A piece counts where it stood last by anybody's word, and never twice.
func TestEachPieceCountsOnce(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Neighbours.Dir = t.TempDir()
	here := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Ready })
	away := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.HandedTo = "Nether Quoin" })
	sold := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Sold })
	head := func(tag registry.Tag, stage registry.Stage) stock.Machine {
		return stock.Machine{Tag: tag, Stage: stage, Drive: registry.Hand}
	}
	moved := registry.NewTag("NQ", 1)
	for _, h := range []*neighbours.House{
		{Letters: "NQ", Name: "Nether Quoin", AsOf: day, Heads: []stock.Machine{head(here, registry.Ready),
			head(away, registry.Ready), head(sold, registry.Ready), head(moved, registry.Ready),
			head(registry.NewTag("NQ", 2), registry.Scrapped)}},
		{Letters: "EL", Name: "Eldwray", AsOf: day.Add(time.Hour),
			Heads: []stock.Machine{head(moved, registry.Bench)}},
	} {
		require.NoError(t, h.Keep(w.Neighbours.Dir))
	}
	var list []neighbours.House
	require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
		list, err = w.Neighbours.Standing(r)
		return err
	}))
	got := map[string][]registry.Tag{}
	for _, h := range list {
		for _, m := range h.Heads {
			got[h.Letters] = append(got[h.Letters], m.Tag)
		}
	}
	assert.Equal(t, map[string][]registry.Tag{"NQ": {away}, "EL": {moved}}, got)
}

func TestAgeIsSaid(t *testing.T) {
	h := &neighbours.House{Name: "Nether Quoin", AsOf: day}
	for days, want := range map[int]string{0: "Nether Quoin, as of 2031-03-03",
		1:  "Nether Quoin, as of 2031-03-03, 1 day ago",
		29: "Nether Quoin, as of 2031-03-03, 29 days ago",
		30: "Nether Quoin, as of 2031-03-03, 30 days ago: old, ask there before anybody drives"} {
		assert.Equal(t, want, h.Said(day.AddDate(0, 0, days), time.UTC))
	}
}
