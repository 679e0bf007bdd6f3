package registry_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func TestDriveSet(t *testing.T) {
	var d registry.DriveSet
	for text, drives := range map[string]string{"": "hte", "any": "hte", "hand treadle": "ht",
		"Electric": "e", "hand/treadle": "ht", "hand any": "hte"} {
		require.NoError(t, d.UnmarshalText([]byte(text)), text)
		got := ""
		for _, drive := range registry.Drives {
			if d.Has(drive) {
				got += string(drive[0])
			}
		}
		assert.Equal(t, drives, got, text)
	}
	assert.ErrorContains(t, d.UnmarshalText([]byte("steam")),
		"type any, or one or more of hand, treadle or electric")
}
