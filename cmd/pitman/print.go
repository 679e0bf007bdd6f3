package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"
	"unicode/utf8"

	"pitman/registry"

	"github.com/rivo/uniseg"
)

// print writes a result: as JSON when asked, else as text for people.
func (a *app) print(v any, text func(w io.Writer)) error {
	if !a.json {
		text(a.out)
		return nil
	}
	e := json.NewEncoder(a.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// elements calls its argument with one element of a list after the other.
type elements func(element func(v any) error) error

// printArray writes a JSON array as its elements come, so that a house of any size is listed in little
// memory. Before the first element nothing is written, and a piece ends between two elements, never within a
// letter.
func (a *app) printArray(each elements) error { return a.printWithin("", "\n", "", each) }

// printLong prints what has a long list under a name; v is all of it but the list, which is empty there.
func (a *app) printLong(v any, name string, each elements) error {
	var text bytes.Buffer
	around := *a
	around.out = &plainWriter{w: &text}
	if err := around.print(v, nil); err != nil {
		return err
	}
	before, after, found := strings.Cut(text.String(), fmt.Sprintf("%q: []", name))
	if !found {
		return fmt.Errorf("no empty list %q in %T", name, v)
	}
	return a.printWithin(fmt.Sprintf("%s%q: ", before, name), after, "  ", each)
}

// printWithin writes an array between two texts; what follows a line end within it is set in.
func (a *app) printWithin(head, tail, in string, each elements) error {
	const piece = 1 << 16
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	e.SetIndent(in+"  ", "  ")
	first := head + "[\n  " + in
	before := first
	flush := func() error {
		defer text.Reset()
		_, err := a.out.Write(text.Bytes())
		return err
	}
	err := each(func(v any) error {
		text.WriteString(before)
		before = ",\n  " + in
		if err := e.Encode(v); err != nil {
			return err
		}
		text.Truncate(text.Len() - 1) // the encoder's line end
		if text.Len() < piece {
			return nil
		}
		return flush()
	})
	if err != nil {
		return err
	}
	if before == first {
		text.WriteString(head + "[")
	} else {
		text.WriteString("\n" + in)
	}
	text.WriteString("]" + tail)
	return flush()
}

// columns lays rows out in columns; cells are separated by tabs. On a terminal that is too narrow for them,
// the cells of a row follow each other over several lines, set in from the second one on.
func columns(w io.Writer, fn func(w io.Writer)) {
	var rows, laid strings.Builder
	fn(&rows)
	layOut(&laid, rows.String())
	screen, ok := w.(*plainWriter)
	if !ok || screen.width == 0 || widestLine(laid.String()) <= screen.width {
		io.WriteString(w, laid.String())
		return
	}
	for row := range strings.Lines(rows.String()) {
		var words []string
		for _, cell := range strings.Split(strings.TrimRight(row, "\n"), "\t") {
			if fields := strings.Fields(cell); len(fields) > 0 {
				fields[len(fields)-1] += " " // two blanks between cells, as in columns
				words = append(words, fields...)
			}
		}
		var line strings.Builder
		writeFilled(&line, words, "    ", screen.width)
		for part := range strings.Lines(line.String()) {
			fmt.Fprintln(w, strings.TrimRight(part, " \n"))
		}
	}
}

// layOut lets tabwriter line the cells up. It counts runes, where a screen has columns: a letter of East Asia
// takes two, a combining accent none. So it is given as many stand-ins as each cell is wide, and the cells
// take their places afterwards.
func layOut(w io.Writer, rows string) {
	const standIn = '\x01' // no cell has one: control characters never get in
	var cells []string
	var shape, laid strings.Builder
	for row := range strings.Lines(rows) {
		for i, cell := range strings.Split(strings.TrimSuffix(row, "\n"), "\t") {
			if i > 0 {
				shape.WriteByte('\t')
			}
			if width := uniseg.StringWidth(cell); width > 0 {
				cells = append(cells, cell)
				shape.WriteString(strings.Repeat(string(standIn), width))
			}
		}
		if strings.HasSuffix(row, "\n") {
			shape.WriteByte('\n')
		}
	}
	t := tabwriter.NewWriter(&laid, 0, 0, 2, ' ', 0)
	io.WriteString(t, shape.String())
	t.Flush()
	last := rune(0)
	for _, r := range laid.String() {
		switch {
		case r != standIn:
			io.WriteString(w, string(r))
		case last != standIn:
			io.WriteString(w, cells[0])
			cells = cells[1:]
		}
		last = r
	}
}

func widestLine(text string) (widest int) {
	for line := range strings.Lines(text) {
		widest = max(widest, uniseg.StringWidth(strings.TrimRight(line, " \n")))
	}
	return widest
}

// localDate is how people see a time: the day, in the house's zone.
func (d *workplace) localDate(at time.Time) string {
	if at.IsZero() {
		return "-"
	}
	return at.In(d.Config.Location()).Format(time.DateOnly)
}

// localTime is a day with its minute.
func (d *workplace) localTime(at time.Time) string {
	return at.In(d.Config.Location()).Format("2006-01-02 15:04")
}

// plainWriter keeps control characters from the terminal, whatever file or field they came from: an escape
// code could rewrite what the next person sees. Line ends and tabs pass.
type plainWriter struct {
	w      io.Writer
	width  int   // of the terminal behind it, 0 when that is none
	failed error // the first write that did not get through; few who print look at it at once
}

func (p *plainWriter) Write(b []byte) (int, error) {
	n, err := p.write(b)
	if p.failed == nil {
		p.failed = err
	}
	return n, err
}

func (p *plainWriter) write(b []byte) (int, error) {
	if clean(b) {
		return p.w.Write(b)
	}
	var out strings.Builder
	for rest := b; len(rest) > 0; {
		r, n := utf8.DecodeRune(rest)
		switch {
		case r == utf8.RuneError && n == 1, hidden(r):
			out.WriteRune(unicode.ReplacementChar)
		default:
			out.Write(rest[:n])
		}
		rest = rest[n:]
	}
	if _, err := io.WriteString(p.w, out.String()); err != nil {
		return 0, err
	}
	return len(b), nil
}

func clean(b []byte) bool {
	for _, c := range b {
		if c >= utf8.RuneSelf || c < ' ' && c != '\n' && c != '\t' || c == 0x7F {
			return false
		}
	}
	return true
}

func hidden(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\t' || r >= 0x202A && r <= 0x202E || r >= 0x2066 &&
		r <= 0x2069
}

// orDash shows that a field is empty.
func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

// plural is "1 machine", "2 machines".
func plural(n int, one string) string { return registry.Counted(n, one) }
