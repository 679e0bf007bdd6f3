package spares_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// An invented list: rows for every machine, for one drive, one needle system, one class and one plug.
var kitRows = []spares.KitRow{
	{Part: "needle", Quantity: 5, Needle: "130/705 H; 15x1"},
	{Part: "needle-round", Quantity: 5, Needle: "round shank"},
	{Part: "bobbin-15", Quantity: 3, Bobbin: "class 15"},
	{Part: "belt", Quantity: 1, Drives: registry.DriveSet{registry.Treadle}},
	{Part: "oil", Quantity: 1},
	{Part: "fuse-3a", Quantity: 1, Drives: registry.DriveSet{registry.Electric}, Plug: "G"},
	{Part: "plug-g", Quantity: 1, Drives: registry.DriveSet{registry.Electric}, Plug: "G"},
	{Part: "plug-c", Quantity: 1, Drives: registry.DriveSet{registry.Electric}},
	{Part: "oil", Quantity: 1, Drives: registry.DriveSet{registry.Treadle}},
}

func TestKitLacks(t *testing.T) {
	known := func(needle string) *stock.Machine {
		return &stock.Machine{Tag: "PM16", Head: stock.Head{Needle: needle, Bobbin: "Class 15"}}
	}
	for name, c := range map[string]struct {
		m    *stock.Machine
		out  spares.Leaving
		have map[string]int
		want []string // why, in order
	}{
		"hand": {known("130/705 H"), spares.Leaving{As: registry.Hand}, nil,
			[]string{"5 × needle", "3 × bobbin-15", "1 × oil"}},
		"another name, bare": {known("15X1"), spares.Leaving{As: registry.Hand},
			map[string]int{"bobbin-15": 3, "oil": 1}, []string{"5 × needle"}},
		"spaces do not count": {known("130/705h"), spares.Leaving{As: registry.Hand},
			map[string]int{"needle": 4, "bobbin-15": 3, "oil": 2}, []string{"1 × needle"}},
		"rows of one part add up; an either-way head leaves as what it is asked for": {known("round shank"),
			spares.Leaving{As: registry.Treadle},
			map[string]int{"needle-round": 5, "bobbin-15": 3, "oil": 1}, []string{"1 × belt", "1 × oil"}},
		"whole": {known("round shank"), spares.Leaving{As: registry.Hand},
			map[string]int{"needle-round": 5, "bobbin-15": 3, "oil": 1}, nil},
		"what is not known is asked, and is no pass": {&stock.Machine{Tag: "PM16"},
			spares.Leaving{As: registry.Electric}, map[string]int{"oil": 1}, []string{
				"the needle system is not known",
				"the class of bobbin or shuttle is not known",
				"the plug is not known: the supply of its order tells it, or whoever puts the kit with it"}},
		"what is on no row is said": {known("DBx1"), spares.Leaving{As: registry.Electric, Plug: "N"},
			map[string]int{"oil": 1, "bobbin-15": 3}, []string{
				`no row of lists/kits.csv is for the needle system "DBx1": add one`,
				`no row of lists/kits.csv is for the plug "N": add one`}},
		"the plug of the destination, which is on the cord and not loose": {known("15x1"),
			spares.Leaving{As: registry.Electric, Plug: "G"},
			map[string]int{"oil": 1, "bobbin-15": 3, "needle": 5}, []string{"1 × fuse-3a"}},
	} {
		var why []string
		for _, lack := range spares.KitLacks(kitRows, c.m, c.out, c.have) {
			why = append(why, lack.Why)
		}
		assert.Equal(t, c.want, why, name)
	}
}

func TestKitNeeds(t *testing.T) {
	one := spares.KitLacks(kitRows, &stock.Machine{Head: stock.Head{Needle: "15x1", Bobbin: "class 15"}},
		spares.Leaving{As: registry.Hand}, nil)
	two := spares.KitLacks(kitRows, &stock.Machine{Head: stock.Head{Bobbin: "class 15"}},
		spares.Leaving{As: registry.Treadle}, nil)
	assert.Equal(t, []spares.KitNeed{
		{Part: "needle", Want: 5, Stock: 3, Short: 2},
		{Part: "bobbin-15", Want: 6, Stock: 6},
		{Part: "oil", Want: 3, Stock: 9},
		{Part: "belt", Want: 1, Short: 1},
	}, spares.KitNeeds([][]spares.KitLack{one, two}, map[string]int{"needle": 3, "bobbin-15": 6, "oil": 9}))
	assert.Empty(t, spares.KitNeeds(nil, nil))
}

func TestKitRowCheck(t *testing.T) {
	assert.NoError(t, kitRows[0].Check())
	assert.ErrorContains(t, spares.KitRow{Part: "oil"}.Check(), `quantity 0 of part "oil" is none`)
	assert.ErrorContains(t, spares.KitRow{Part: "Oil can", Quantity: 1}.Check(), "is not one short word")
}
