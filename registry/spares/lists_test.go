package spares_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

func TestPartFits(t *testing.T) {
	part := spares.PartKind{Maker: "Hollis & Sons", Class: "class 15",
		Drives: registry.DriveSet{registry.Hand}}
	for _, c := range []struct {
		part                spares.PartKind
		maker, model, class string
		drive               registry.Drive
		fits                bool
	}{
		{spares.PartKind{}, "", "", "", registry.Treadle, true},
		{part, "HOLLIS AND SONS", "Nine", "Class 15", registry.Hand, true},
		{part, "Hollis & Sons", "Nine", "", registry.Hand, true},
		{part, "unknown", "", "class 15", registry.Hand, true},
		{part, "unknown", "", "class 66", registry.Hand, false},
		{part, "Marlow", "", "class 15", registry.Hand, false},
		{part, "Hollis & Sons", "Nine", "class 15", registry.Electric, false},
		{spares.PartKind{Model: "Nine"}, "Hollis", "Ten", "", registry.Hand, false},
	} {
		assert.Equal(t, c.fits,
			c.part.Fits(&stock.Machine{Maker: c.maker, Model: c.model, Drive: c.drive,
				Head: stock.Head{Bobbin: c.class}}), "%+v", c)
	}
}
