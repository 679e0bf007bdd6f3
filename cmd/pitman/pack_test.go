package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/packing"
)

func TestPackingListSaysWhatItsValueLeavesOut(t *testing.T) {
	total := func(p packing.PackingList) string { return packingPaper(&p).after[0] }
	assert.Contains(t, total(packing.PackingList{Currency: "EUR", Crates: 3, Value: 25, NoValue: 2}),
		", declared value 25.00 EUR without 2 crates of a kind that has none.")
	assert.Contains(t, total(packing.PackingList{Currency: "EUR", Crates: 1, Value: 25}),
		", declared value 25.00 EUR.")
	assert.NotContains(t, total(packing.PackingList{Currency: "EUR", Crates: 1, NoValue: 1}), "declared")
}
