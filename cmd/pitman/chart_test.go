package main

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/statistics"
)

func TestChartText(t *testing.T) {
	var b strings.Builder
	require.NoError(t,
		chartText(&b, []statistics.Bar{{Label: "1890s", Count: 20}, {Label: "1900s", Count: 0},
			{Label: "1910s", Count: 10}, {Label: "unknown", Count: 1}}, 33, "█"))
	assert.Equal(t, ""+
		"1890s    20  ████████████████████\n"+
		"1900s     0\n"+
		"1910s    10  ██████████\n"+
		"unknown   1  █\n", b.String())
	for line := range strings.Lines(b.String()) {
		assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 33)
	}
	b.Reset()
	require.NoError(t, chartText(&b, []statistics.Bar{{Label: "1890s", Count: 100000}}, 5, "#"))
	assert.Equal(t, "1890s  100000  #\n", b.String(), "a very narrow terminal still shows the figures")
}

func TestChartSVG(t *testing.T) {
	var b strings.Builder
	require.NoError(t,
		chartSVG(&b, `Made <by> "decade"`,
			[]statistics.Bar{{Label: "1890s", Count: 4}, {Label: "1900s", Count: 0},
				{Label: "1910s", Count: 2}}))
	decoder := xml.NewDecoder(strings.NewReader(b.String()))
	var widths []string
	var words []string
	for {
		token, err := decoder.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		switch e := token.(type) {
		case xml.StartElement:
			if e.Name.Local == "rect" {
				for _, a := range e.Attr {
					if a.Name.Local == "width" {
						widths = append(widths, a.Value)
					}
				}
			}
		case xml.CharData:
			words = append(words, strings.TrimSpace(string(e)))
		}
	}
	assert.Equal(t, []string{"650", "480", "0", "240"}, widths)
	assert.Contains(t, words, `Made <by> "decade"`)
	assert.Contains(t, words, "1910s")
	require.NoError(t, chartSVG(io.Discard, "nothing yet", nil))
}
