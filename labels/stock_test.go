package labels

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const stockHeader = "name,page_width,page_height,columns,rows,label_width,label_height,gap_x,gap_y,margin_left,margin_top,hole,hole_x,hole_y,cut,note\n"

func TestStarterStock(t *testing.T) {
	for _, name := range []string{"a4-3x7", "roll-62x29", Default().Stock, Default().SlipStock} {
		_, err := FindStock(DefaultStock(), name)
		assert.NoError(t, err)
	}
	machine := stockNamed(t, Default().Stock)
	assert.Positive(t, machine.Hole, "machines get tags that are tied on")
	assert.True(t, bool(machine.Cut))
	assert.Equal(t, 21, stockNamed(t, "A4-3X7").PerSheet())
	_, err := FindStock(DefaultStock(), "a5")
	assert.ErrorContains(t, err, `stock "a5" is not in the table: type one of a4-tag-2x5,`)
}

func TestStockFromASpreadsheet(t *testing.T) {
	table, err := ReadStock("stock.csv",
		strings.NewReader("\uFEFF"+strings.ReplaceAll(stockHeader, "\n", "\r\n")+
			"# ours\r\nshed, 210,297,2,2,90,100,1,1,5,5,,,,YES,\"a, b\"\r\n"))
	require.NoError(t, err)
	require.Len(t, table, 1)
	assert.Equal(t,
		Stock{Name: "shed", PageWidth: 210, PageHeight: 297, Columns: 2, Rows: 2, LabelWidth: 90,
			LabelHeight: 100, GapX: 1, GapY: 1, MarginLeft: 5, MarginTop: 5, Cut: true, Note: "a, b"},
		table[0])
}

func TestStockFaultsNameTheLine(t *testing.T) {
	row := func(r string) string { return stockHeader + "# a comment\n" + r + "\n" }
	for want, text := range map[string]string{
		"stock.csv: the table is empty":                                                                 "",
		"stock.csv: the table is empty: give it one row":                                                stockHeader,
		"stock.csv:3: name \"a b\" must be a word":                                                      row("a b,210,297,1,1,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:3: x: label_width is NaN: type millimetres from 10 to 1200":                          row("x,210,297,1,1,NaN,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:3: x: gap_x is -1":                                                                   row("x,210,297,1,1,90,90,-1,0,0,0,0,0,0,no,"),
		"stock.csv:3: x: page_width is +Inf":                                                            row("x,Inf,297,1,1,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:3: x: columns, gaps and margin_left come to 282.0 mm, and the page is 210.0 mm wide": row("x,210,297,3,1,90,90,1,0,10,0,0,0,0,no,"),
		"stock.csv:3: x: rows, gaps and margin_top come to 360.0 mm":                                    row("x,210,297,1,4,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:3: x: 0 columns and 1 rows":                                                          row("x,210,297,0,1,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:3: x: the hole of 5.0 mm at 50.0, 45.0 must lie in the outer third":                  row("x,210,297,1,1,90,90,0,0,0,0,5,50,45,no,"),
		"stock.csv:4: name \"x\" stands in line 3 already":                                              row("x,210,297,1,1,90,90,0,0,0,0,0,0,0,no,\nx,210,297,1,1,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:4: name \"X\" stands in line 3 already":                                              row("x,210,297,1,1,90,90,0,0,0,0,0,0,0,no,\nX,210,297,1,1,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:1003: more than 1000 rows":                                                           manyRows(1001),
		"stock.csv:3: cut \"maybe\" is neither yes nor no: type one of them":                            row("x,210,297,1,1,90,90,0,0,0,0,0,0,0,maybe,"),
		"stock.csv: the header lacks page_width, columns, ":                                             "name,page_height\nx,1\n",
		"cut, note: the first line must be name,page_width,":                                            "name\nx\n",
		"stock.csv:3: columns is not a number that it can be: type digits":                              row("x,210,297,1.5,1,90,90,0,0,0,0,0,0,0,no,"),
		"stock.csv:3: the row has more or fewer fields than the header":                                 row("x,210,297"),
		"stock.csv:3: a quotation mark is out of place":                                                 row("x,210,\"297"),
		"stock.csv: the table is larger than 1 MiB":                                                     stockHeader + strings.Repeat("# \n", maxStockFile/2),
	} {
		_, err := ReadStock("stock.csv", strings.NewReader(text))
		assert.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), "\n")
	}
}

// A table that an earlier program wrote out lacks the newer columns, and means the same as before.
func TestStockOfAnEarlierHouse(t *testing.T) {
	table, err := ReadStock("stock.csv",
		strings.NewReader(stockHeader+"x,210,297,1,1,90,90,0,0,0,0,0,0,0,no,ours\n"))
	require.NoError(t, err)
	assert.Equal(t, Device{}, table[0].Device())
	assert.Equal(t, Device{DPI: 203, Mono: true}, stockNamed(t, "roll-62x29").Device())
}

func manyRows(n int) string {
	var b strings.Builder
	b.WriteString(stockHeader + "# ours\n")
	for i := range n {
		fmt.Fprintf(&b, "x%d,210,297,1,1,90,90,0,0,0,0,0,0,0,no,\n", i)
	}
	return b.String()
}

func TestAsManyRowsAsMayBe(t *testing.T) {
	table, err := ReadStock("stock.csv", strings.NewReader(manyRows(maxStock)))
	require.NoError(t, err)
	assert.Len(t, table, maxStock)
}

// Each limit itself is right, and what is just beyond it is refused. The stock fills its page to the edge.
func TestStockLimits(t *testing.T) {
	good := Stock{Name: "x", PageWidth: 102, PageHeight: 208, Columns: 2, Rows: 3, LabelWidth: 45,
		LabelHeight: 60, GapX: 2, GapY: 4, MarginLeft: 10, MarginTop: 20,
		Hole: 6, HoleX: 12, HoleY: 57}
	require.NoError(t, good.validate())
	x, y := good.position(5)
	assert.Equal(t, [2]float64{57, 148}, [2]float64{x, y}, "the last of two columns and three rows")
	for fault, change := range map[string]func(*Stock){
		`name "" must be a word`:                         func(s *Stock) { s.Name = "" },
		"page_width is 9.9: type millimetres from 10 to": func(s *Stock) { s.PageWidth = 9.9 },
		"page_height is 9.9":                             func(s *Stock) { s.PageHeight = 9.9 },
		"label_width is 9.9":                             func(s *Stock) { s.LabelWidth = 9.9 },
		"label_height is 9.9":                            func(s *Stock) { s.LabelHeight = 9.9 },
		"page_width is 1200.1":                           func(s *Stock) { s.PageWidth = 1200.1 },
		"columns, gaps and margin_left come to 102.0 mm, and the page is 101.9 mm wide": func(s *Stock) { s.PageWidth = 101.9 },
		"rows, gaps and margin_top come to 208.0 mm, and the page is 207.9 mm high":     func(s *Stock) { s.PageHeight = 207.9 },
		"0 columns and 3 rows":   func(s *Stock) { s.Columns = 0 },
		"2 columns and 0 rows":   func(s *Stock) { s.Rows = 0 },
		"51 columns and 3 rows":  func(s *Stock) { s.Columns = 51 },
		"2 columns and 101 rows": func(s *Stock) { s.Rows = 101 },
		"the hole of 6.0 mm at 22.0, 30.0 must lie in the outer third": func(s *Stock) {
			s.HoleX,
				s.HoleY = 22, 30
		},
		"dpi is 71: type 72 to 600, or 0":  func(s *Stock) { s.DPI = 71 },
		"the hole of 6.0 mm at 2.9, 57.0":  func(s *Stock) { s.HoleX = 2.9 },
		"the hole of 6.0 mm at 12.0, 57.1": func(s *Stock) { s.HoleY = 57.1 },
		"the hole of 6.0 mm at 12.0, 2.9":  func(s *Stock) { s.HoleY = 2.9 },
	} {
		s := good
		change(&s)
		assert.ErrorContains(t, s.validate(), fault)
	}
	for name, change := range map[string]func(*Stock){
		"rounded to a tenth": func(s *Stock) { s.PageWidth, s.PageHeight = 101.96, 207.96 },
		"hole in the corner": func(s *Stock) { s.HoleX, s.HoleY = 3, 3 },
		"no hole":            func(s *Stock) { s.Hole, s.HoleX, s.HoleY = 0, 0, 0 },
		"smallest": func(s *Stock) {
			*s = Stock{Name: "x", PageWidth: 10, PageHeight: 10, Columns: 1, Rows: 1, LabelWidth: 10,
				LabelHeight: 10}
		},
		"largest": func(s *Stock) { s.PageWidth, s.PageHeight = 1200, 1200 },
		"most labels on a sheet": func(s *Stock) {
			*s = Stock{Name: "x", PageWidth: 500, PageHeight: 1000, Columns: 50, Rows: 100, LabelWidth: 10,
				LabelHeight: 10}
		},
	} {
		s := good
		change(&s)
		assert.NoError(t, s.validate(), name)
	}
}

func FuzzReadStock(f *testing.F) {
	f.Add(DefaultStockCSV)
	f.Add([]byte(stockHeader + "x,210,297,1,1,90,90,0,0,0,0,5,4,45,no,\n"))
	f.Add([]byte("name\n\"x"))
	f.Fuzz(func(t *testing.T, text []byte) {
		table, err := ReadStock("stock.csv", bytes.NewReader(text))
		if err != nil {
			return
		}
		s := Default()
		face, err := sample(1).Face(s)
		require.NoError(t, err)
		for _, stock := range table[:min(len(table), 3)] {
			x, y := stock.position(stock.PerSheet() - 1)
			assert.LessOrEqual(t, x+stock.LabelWidth, stock.PageWidth+0.06)
			assert.LessOrEqual(t, y+stock.LabelHeight, stock.PageHeight+0.06)
			if d, err := Draw(face, stock, s, Device{}); err == nil {
				checkPlaces(t, d, stock, face)
			}
		}
	})
}
