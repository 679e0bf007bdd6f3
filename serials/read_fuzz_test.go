package serials_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/table"
)

func FuzzReadTable(f *testing.F) {
	for _, s := range []string{
		firstLine + "Quill,K,1,99,1920,1920,,,src,\n", "\xef\xbb\xbf" + firstLine, "# c\r\n" + firstLine +
			"A,,1,,1900,\r\n", firstLine + "\"\n\"\"\nA,,1,2,1900\n",
		firstLine + "A,,0001,0099,1900,1904,m,w,s,n\nA,,50,150,1905,,,,,\nA,,50,150,1905,,,,,\n",
		"maker;first",
		"", "\x00", firstLine + "A,,,,1900,1910,Dart,,,\n",
		firstLine + "A,,5,,1900\nA,,5,,1901\nA,,5,9,1902\nB,Z,999999999999999,,2100\n",
	} {
		f.Add([]byte(s), "K1?")
	}
	f.Fuzz(func(t *testing.T, data []byte, serial string) {
		rows, faults := table.Read("t.csv", strings.NewReader(string(data)))
		for _, fault := range faults {
			require.Positive(t, fault.Line)
			require.NotContains(t, fault.Message, "\n")
		}
		if rows == nil {
			require.NotEmpty(t, faults, "a file without a table has a reason")
			return
		}
		tables := serials.NewTables(rows)
		for _, fault := range tables.Check() {
			require.Positive(t, fault.Line)
		}
		for i, r := range rows.Rows {
			if i == 20 {
				break
			}
			a, err := tables.Date(serials.Query{Maker: r.Maker, Serial: serial, Model: r.Model})
			if err == nil && a.From != 0 && a.To != 0 {
				require.LessOrEqual(t, a.From, a.To)
			}
			if r.ModelOnly {
				continue
			}
			e, err := tables.Estimate(r.Maker, r.Prefix+strconv.FormatUint(r.First, 10))
			require.NoError(t, err)
			require.True(t, e.From <= r.From && (e.To == 0 || r.To <= e.To || !r.Last.Known),
				"%+v does not hold %+v", e, r)
		}
	})
}
