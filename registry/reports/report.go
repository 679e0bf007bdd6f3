package reports

import (
	"cmp"
	"fmt"
	"html"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// median is the middle of the values, or halfway between the middle two; ok is false when there are none.
func median(values []float64) (value float64, ok bool) {
	if len(values) == 0 {
		return 0, false
	}
	sorted := slices.Sorted(slices.Values(values))
	middle := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[middle], true
	}
	return sorted[middle-1] + (sorted[middle]-sorted[middle-1])/2, true
}

// daysBetween is a stay as days and parts of one, as medians of days per stage are counted.
func daysBetween(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 }

// Bar is one bar of a chart.
type Bar struct {
	Label string `json:"label"`
	Count int    `json:"count"`
}

// yearUnknown labels the machines whose decade nobody can tell, those whose years lie in two decades included.
const yearUnknown = "unknown"

// decadeOf is the first year of the decade a machine was made in: from its best year, or from bounds that lie in one decade.
// Nil means not known, as everywhere with years.
func decadeOf(from, to, best *int) (decade int, ok bool) {
	if best != nil {
		return *best / 10 * 10, true
	}
	if from != nil && to != nil && *from/10 == *to/10 {
		return *from / 10 * 10, true
	}
	return 0, false
}

// byDecade counts machines by decade, oldest first. Decades between the first and the last stand even when empty, so that the
// chart is a time line; the unknown come last.
func byDecade(decades []int, unknown int) []Bar {
	var bars []Bar
	if len(decades) > 0 {
		count := map[int]int{}
		for _, d := range decades {
			count[d]++
		}
		for d := slices.Min(decades); d <= slices.Max(decades); d += 10 {
			bars = append(bars, Bar{fmt.Sprintf("%ds", d), count[d]})
		}
	}
	if unknown > 0 {
		bars = append(bars, Bar{yearUnknown, unknown})
	}
	return bars
}

// ChartText writes a bar chart for a terminal of the given width. Where the terminal has no block characters, mark is "#".
func ChartText(w io.Writer, bars []Bar, width int, mark string) error {
	label, figure, most := 0, 1, 0
	for _, b := range bars {
		label = max(label, utf8.RuneCountInString(b.Label))
		figure = max(figure, len(fmt.Sprint(b.Count)))
		most = max(most, b.Count)
	}
	room := max(width-label-figure-4, 1)
	for _, b := range bars {
		row := fmt.Sprintf("%-*s  %*d", label, b.Label, figure, b.Count)
		if n := barLength(b.Count, most, room); n > 0 {
			row += "  " + strings.Repeat(mark, n)
		}
		if _, err := fmt.Fprintln(w, row); err != nil {
			return err
		}
	}
	return nil
}

// barLength scales a count to the room; a count above nought always shows.
func barLength(count, most, room int) int {
	if count <= 0 {
		return 0
	}
	return max(1, (count*room+most/2)/most)
}

// ChartSVG writes the same chart as a picture. Each bar carries its figure in words, so that it reads without colour.
func ChartSVG(w io.Writer, title string, bars []Bar) error {
	const row, left, room, right, top = 24, 110, 480, 60, 44
	most := 0
	if len(bars) > 0 {
		most = slices.MaxFunc(bars, func(a, b Bar) int { return cmp.Compare(a.Count, b.Count) }).Count
	}
	var b strings.Builder
	width, height := left+room+right, top+row*len(bars)+12
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" font-family="sans-serif" `+
		`font-size="14" role="img">`+"\n",
		width, height, width, height)
	fmt.Fprintf(&b, "<title>%s</title>\n", html.EscapeString(title))
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#ffffff"/>`+"\n", width, height)
	fmt.Fprintf(&b, `<text x="12" y="26" font-size="18">%s</text>`+"\n", html.EscapeString(title))
	for i, bar := range bars {
		y := top + row*i
		length := barLength(bar.Count, most, room)
		fmt.Fprintf(&b, `<text x="%d" y="%d" text-anchor="end">%s</text>`, left-8, y+16, html.EscapeString(bar.Label))
		fmt.Fprintf(&b, `<rect x="%d" y="%d" width="%d" height="%d" fill="#3b5b45"/>`, left, y+3, length, row-6)
		fmt.Fprintf(&b, `<text x="%d" y="%d">%d</text>`+"\n", left+length+6, y+16, bar.Count)
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}
