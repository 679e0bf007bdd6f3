package labels

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// WriteSVG writes the drawing in millimetres. Letters are outlines, so that they look the same where the
// reader lacks their font; what they say is the title of their group.
func (d *Drawing) WriteSVG(w io.Writer) error {
	out := bufio.NewWriter(w)
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	fmt.Fprintf(out,
		`<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s">`+"\n",
		mm(d.Width), mm(d.Height), mm(d.Width), mm(d.Height))
	for o := range d.steps() {
		if o.text == "" {
			writePath(out, o)
			continue
		}
		out.WriteString("<g><title>")
		xml.EscapeText(out, []byte(o.text)) // a bufio.Writer keeps its error until Flush
		out.WriteString("</title>")
		writePath(out, o)
		out.WriteString("</g>\n")
	}
	out.WriteString("</svg>\n")
	return out.Flush()
}

func writePath(out *bufio.Writer, o op) {
	at := func(v float64) string {
		return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
	}
	fmt.Fprintf(out, `<path fill="%s" d="`, o.colour)
	for _, r := range o.outline() {
		for i, p := range r {
			out.WriteByte("ML"[min(i, 1)])
			out.WriteString(at(p.x) + " " + at(p.y))
		}
		out.WriteByte('Z')
	}
	out.WriteString("\"/>\n")
}
