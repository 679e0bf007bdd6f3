package lookup_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/lookup"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// What a filter lets through of a list is what it lets through of what is stored.
func TestAListIsAskedAsTheRegistryIs(t *testing.T) {
	ctx := context.Background()
	w := registrytest.Workshop(t)
	year := func(y int) *int { return &y }
	drives := registry.Drives
	var list []stock.Machine
	for i := range 24 {
		tag := registrytest.Put(t, w, drives[i%3], func(m *stock.Machine) {
			m.Maker = []string{"Harrow & Finch", "Orlop", "HARROW and FINCH"}[i%3]
			m.Stage = []registry.Stage{registry.Logged, registry.Ready}[i%2]
			m.Place = []string{"", "Bay 1", "bay 1", "shelf"}[i%4]
			m.From, m.To, m.Best, m.Basis = nil, nil, nil, "none"
			if i%5 > 0 {
				m.From = year(1900 + i)
			}
			if i%7 > 0 {
				m.To = year(1904 + i)
			}
			if i%10 == 0 {
				m.Basis = "contradiction"
			}
			if i == 4 {
				m.Note = "drawer key"
			}
			m.Key()
		})
		m, err := w.Machine(ctx, tag)
		require.NoError(t, err)
		list = append(list, *m)
	}
	tags := func(ms []stock.Machine) (tags []registry.Tag) {
		for _, m := range ms {
			tags = append(tags, m.Tag)
		}
		return tags
	}
	found := 0
	for _, f := range []stock.MachineFilter{{}, {Stage: registry.Ready}, {Drive: registry.Hand},
		{NoYear: true},
		{Maker: "harrow & finch"}, {Place: "BAY 1"}, {MadeFrom: 1910}, {MadeTo: 1908},
		{MadeFrom: 1903, MadeTo: 1906},
		{Text: "drawer key"}, {Text: "key drawer"}, {Text: "orlpo"}, {Text: "nowhere"}, {Text: "finch 1921"},
		{Stage: registry.Ready, Text: "orlop", MadeTo: 1920}} {
		var stored []stock.Machine
		require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
			return lookup.Machines(r, f,
				func(m *stock.Machine) error { stored = append(stored, *m); return nil })
		}))
		assert.Equal(t, tags(stored), tags(lookup.Among(list, f)), "%+v", f)
		found += len(stored)
	}
	assert.Greater(t, found, 60)
}
