package serials_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/serials"
)

func TestLearn(t *testing.T) {
	all := tables(t, "Ostermann,,1,100,1900,1900,,,,", "Ostermann,,101,200,1901,1901,,,,",
		"Ostermann,,201,,1902,1902,,,,")
	lessons := all.Learn([]serials.Witness{
		{Tag: "A", Query: serials.Query{Maker: "Ostermann", Serial: "150", Seen: []int{1899}}},
		{Tag: "B", Query: serials.Query{Maker: "ostermann", Serial: "160", Seen: []int{1898}}},
		{Tag: "C", Query: serials.Query{Maker: "Ostermann", Serial: "170", Seen: []int{1900}}},
		{Tag: "D", Query: serials.Query{Maker: "Ostermann", Serial: "50"}, Ledger: 1903},
		{Tag: "E", Query: serials.Query{Maker: "Ostermann", Serial: "60", PatentDates: []int{1902}}},
		{Tag: "F", Query: serials.Query{Maker: "Ostermann", Serial: "70", Seen: []int{1950}}},
		{Tag: "no evidence", Query: serials.Query{Maker: "Ostermann", Serial: "70"}},
		{Tag: "worn", Query: serials.Query{Maker: "Ostermann", Serial: "7?", Seen: []int{1890}}},
		{Tag: "contradicts itself",
			Query: serials.Query{Maker: "Ostermann", Serial: "70", Seen: []int{1890},
				PatentDates: []int{1895}}},
		{Tag: "open row", Query: serials.Query{Maker: "Ostermann", Serial: "500", Seen: []int{1890}}},
	})
	var says []string
	for _, l := range lessons {
		says = append(says, l.Says())
	}
	assert.Equal(t, []string{
		"3 receipts refute t.csv:3",
		"1 patent, 1 ledger refute t.csv:2; made 2 to 3 years or more after the row: its numbers may have " +
			"been allotted ahead; 1 more would be needed to mend the row by",
	}, says)
	assert.Equal(t, []string{"F"}, lessons[1].Agree)
	assert.Equal(t, "1 machine bear out t.csv:2",
		all.Learn([]serials.Witness{{Tag: "F",
			Query: serials.Query{Maker: "Ostermann", Serial: "70", Seen: []int{1950}}}})[0].Says())
}

func TestDifferences(t *testing.T) {
	a := tables(t, "Quill,,1,100,1900,1900,,,,", "Quill,,101,200,1901,1901,,,,", "Fenn,K,1,9,1910,1910,,,,")
	b := tables(t, "Quill,,1,150,1900,1900,,,,", "Quill,,151,200,1901,1901,,,,")
	assert.Equal(t, []serials.Difference{
		{"Fenn", "0", "1910 or earlier", "unknown"}, {"Fenn", "K1–K9", "1910", "unknown"},
		{"Fenn", "K10 onwards", "1910 or later", "unknown"},
		{"Quill", "101–150", "1901", "1900"},
	}[1:], a.Differences(b)[1:])
	assert.Empty(t, a.Differences(a))
}
