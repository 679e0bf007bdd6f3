package reports

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// By hand.
func TestMedian(t *testing.T) {
	_, ok := median(nil)
	assert.False(t, ok)
	for _, c := range []struct {
		values []float64
		want   float64
	}{{[]float64{4}, 4}, {[]float64{9, 1, 5}, 5}, {[]float64{4, 1, 3, 2}, 2.5}, {[]float64{1, 1, 100}, 1}} {
		before := append([]float64(nil), c.values...)
		got, ok := median(c.values)
		assert.True(t, ok)
		assert.Equal(t, c.want, got)
		assert.Equal(t, before, c.values, "the caller's order stays")
	}
	start := time.Date(2031, 3, 4, 12, 0, 0, 0, time.UTC)
	assert.InDelta(t, 1.5, daysBetween(start, start.Add(36*time.Hour)), 1e-9)
}

func TestDecades(t *testing.T) {
	year := func(y int) *int { return &y }
	for _, c := range []struct {
		from, to, best *int
		want           int
		ok             bool
	}{
		{year(1921), year(1925), year(1923), 1920, true},
		{year(1921), year(1929), nil, 1920, true},
		{year(1919), year(1920), nil, 0, false},
		{year(1919), year(1920), year(1920), 1920, true},
		{year(1876), nil, nil, 0, false},
		{nil, nil, nil, 0, false},
	} {
		got, ok := decadeOf(c.from, c.to, c.best)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.ok, ok)
	}
	assert.Equal(t, []Bar{{"1890s", 2}, {"1900s", 0}, {"1910s", 1}, {yearUnknown, 3}}, byDecade([]int{1910, 1890, 1890}, 3))
	assert.Empty(t, byDecade(nil, 0))
}

func TestChartText(t *testing.T) {
	var b strings.Builder
	require.NoError(t, ChartText(&b, []Bar{{"1890s", 20}, {"1900s", 0}, {"1910s", 10}, {yearUnknown, 1}}, 33, "█"))
	assert.Equal(t, ""+
		"1890s    20  ████████████████████\n"+
		"1900s     0\n"+
		"1910s    10  ██████████\n"+
		"unknown   1  █\n", b.String())
	for line := range strings.Lines(b.String()) {
		assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 33)
	}
	b.Reset()
	require.NoError(t, ChartText(&b, []Bar{{"1890s", 100000}}, 5, "#"))
	assert.Equal(t, "1890s  100000  #\n", b.String(), "a very narrow terminal still shows the figures")
}

func TestChartSVG(t *testing.T) {
	var b strings.Builder
	require.NoError(t, ChartSVG(&b, `Made <by> "decade"`, []Bar{{"1890s", 4}, {"1900s", 0}, {"1910s", 2}}))
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
	require.NoError(t, ChartSVG(io.Discard, "nothing yet", nil))
}
