package main

import (
	"cmp"
	"fmt"
	"html"
	"io"
	"slices"
	"strings"

	"github.com/rivo/uniseg"

	"pitman/registry/statistics"
)

// chartText writes a bar chart for a terminal of the given width. Where the terminal has no block characters,
// mark is "#".
func chartText(w io.Writer, bars []statistics.Bar, width int, mark string) error {
	label, figure, most := 0, 1, 0
	for _, b := range bars {
		label = max(label, uniseg.StringWidth(b.Label))
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

// chartSVG writes the same chart as a picture. Each bar carries its figure in words, so that it reads without
// colour.
func chartSVG(w io.Writer, title string, bars []statistics.Bar) error {
	const row, left, room, right, top = 24, 110, 480, 60, 44
	most := 0
	if len(bars) > 0 {
		most = slices.MaxFunc(bars, func(a, b statistics.Bar) int { return cmp.Compare(a.Count, b.Count) }).Count
	}
	var b strings.Builder
	width, height := left+room+right, top+row*len(bars)+12
	fmt.Fprintf(&b,
		`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" `+
			`font-family="sans-serif" `+
			`font-size="14" role="img">`+"\n",
		width, height, width, height)
	fmt.Fprintf(&b, "<title>%s</title>\n", html.EscapeString(title))
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#ffffff"/>`+"\n", width, height)
	fmt.Fprintf(&b, `<text x="12" y="26" font-size="18">%s</text>`+"\n", html.EscapeString(title))
	for i, bar := range bars {
		y := top + row*i
		length := barLength(bar.Count, most, room)
		fmt.Fprintf(&b, `<text x="%d" y="%d" text-anchor="end">%s</text>`, left-8, y+16,
			html.EscapeString(bar.Label))
		fmt.Fprintf(&b, `<rect x="%d" y="%d" width="%d" height="%d" fill="#3b5b45"/>`, left, y+3, length,
			row-6)
		fmt.Fprintf(&b, `<text x="%d" y="%d">%d</text>`+"\n", left+length+6, y+16, bar.Count)
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}
