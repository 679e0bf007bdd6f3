package registry

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPartFits(t *testing.T) {
	part := PartKind{Maker: "Hollis & Sons", Class: "class 15", Drives: DriveSet{Hand}}
	for _, c := range []struct {
		part                PartKind
		maker, model, class string
		drive               Drive
		fits                bool
	}{
		{PartKind{}, "", "", "", Treadle, true},
		{part, "HOLLIS AND SONS", "Nine", "Class 15", Hand, true},
		{part, "Hollis & Sons", "Nine", "", Hand, true},
		{part, "unknown", "", "class 15", Hand, true},
		{part, "unknown", "", "class 66", Hand, false},
		{part, "Marlow", "", "class 15", Hand, false},
		{part, "Hollis & Sons", "Nine", "class 15", Electric, false},
		{PartKind{Model: "Nine"}, "Hollis", "Ten", "", Hand, false},
	} {
		assert.Equal(t, c.fits, c.part.fits(&Machine{Maker: c.maker, Model: c.model, Drive: c.drive, Head: Head{Bobbin: c.class}}), "%+v", c)
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
