package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/packing"
)

// What leaves apart is counted apart: a number means what stands on the label, and not the place in the row.
func TestACrateIsNamedByTheNumberOnItsLabel(t *testing.T) {
	crates := []packing.CrateLabel{{Crate: 1, Of: 2}, {Crate: 2, Of: 2}, {Crate: 1, Of: 1}}
	found, err := cratesNumbered(crates, 1, "ORD1")
	require.NoError(t, err)
	assert.Equal(t, []packing.CrateLabel{crates[0], crates[2]}, found)
	_, err = cratesNumbered(crates, 3, "ORD1")
	assert.EqualError(t, err, "crate 3: order ORD1 has 3 crates: type 1 to 2")
}
