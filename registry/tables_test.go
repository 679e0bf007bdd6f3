package registry

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPartFits(t *testing.T) {
	for _, c := range []struct {
		part                PartKind
		maker, model, class string
		fits, known         bool
	}{
		{PartKind{}, "", "", "", true, true},
		{PartKind{Maker: "Hollis", Class: "class 15"}, "HOLLIS", "Nine", "Class 15", true, true},
		{PartKind{Maker: "Hollis", Class: "class 15"}, "Hollis", "Nine", "", true, false},
		{PartKind{Maker: "Hollis", Class: "class 15"}, "Marlow", "", "class 15", false, true},
		{PartKind{Maker: "Hollis", Class: "class 15"}, "Marlow", "", "", false, false},
		{PartKind{Model: "Nine"}, "Hollis", "Ten", "", false, true},
	} {
		fits, known := c.part.Fits(c.maker, c.model, c.class)
		assert.Equal(t, []bool{c.fits, c.known}, []bool{fits, known}, "%+v in %s %s %s", c.part, c.maker, c.model, c.class)
	}
}

func TestDriveSet(t *testing.T) {
	var d DriveSet
	for text, drives := range map[string]string{"": "hte", "any": "hte", "hand treadle": "ht", "Electric": "e", "hand/treadle": "ht", "hand any": "hte"} {
		require.NoError(t, d.UnmarshalText([]byte(text)), text)
		got := ""
		for _, drive := range Drives {
			if d.Has(drive) {
				got += string(drive[0])
			}
		}
		assert.Equal(t, drives, got, text)
	}
	assert.ErrorContains(t, d.UnmarshalText([]byte("steam")), "type any, or one or more of hand, treadle or electric")
}
