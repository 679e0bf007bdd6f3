package labels

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WriteSVG writes the drawing in millimetres. Text stays text; textLength holds it to its measured width where the reader
// has another font.
func (d *Drawing) WriteSVG(w io.Writer) error {
	out := bufio.NewWriter(w)
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	at := func(v float64) string {
		return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
	}
	fmt.Fprintf(out, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s">`+"\n",
		mm(d.Width), mm(d.Height), mm(d.Width), mm(d.Height))
	for _, o := range d.ops {
		if o.text == "" {
			fmt.Fprintf(out, `<path fill="%s" d="`, o.colour)
			for _, r := range o.rings {
				for i, p := range r {
					out.WriteByte("ML"[min(i, 1)])
					out.WriteString(at(p.x) + " " + at(p.y))
				}
				out.WriteByte('Z')
			}
			out.WriteString("\"/>\n")
			continue
		}
		weight := "normal"
		if o.font.bold {
			weight = "bold"
		}
		fmt.Fprintf(out, `<text x="%s" y="%s" font-family="%s, Arial, sans-serif" font-weight="%s" font-size="%s" fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs">`,
			at(o.x), at(o.y), o.font.name, weight, at(o.size), o.colour, at(o.width))
		xml.EscapeText(out, []byte(o.text)) // a bufio.Writer keeps its error until Flush
		out.WriteString("</text>\n")
	}
	out.WriteString("</svg>\n")
	return out.Flush()
}
