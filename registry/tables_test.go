package registry

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDriveSet(t *testing.T) {
	var d DriveSet
	for text, drives := range map[string]string{"": "hte", "any": "hte", "hand treadle": "ht",
		"Electric": "e", "hand/treadle": "ht", "hand any": "hte"} {
		require.NoError(t, d.UnmarshalText([]byte(text)), text)
		got := ""
		for _, drive := range Drives {
			if d.Has(drive) {
				got += string(drive[0])
			}
		}
		assert.Equal(t, drives, got, text)
	}
	assert.ErrorContains(t, d.UnmarshalText([]byte("steam")),
		"type any, or one or more of hand, treadle or electric")
}
