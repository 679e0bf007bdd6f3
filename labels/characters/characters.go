// Package characters shows a label in characters, for want of a printer.
package characters

import (
	"strings"
	"unicode"

	"github.com/rivo/uniseg"
	"golang.org/x/text/unicode/norm"

	"pitman/labels"
)

// Options says what the terminal can show.
type Options struct {
	ASCII bool // no block characters: modules are drawn with # and spaces, two to a module
	Paper bool // dark on light, for a printer or a light screen; else light on dark
}

// textWidth is the width of a terminal that every volunteer has.
const textWidth = 80

// Text writes a face for a terminal without a printer, at most 80 columns wide: words beside the QR symbol,
// or below it where the symbol takes the whole width.
func Text(f *labels.Face, s *labels.Scheme, o Options) (string, error) {
	symbol, err := f.Symbol(s)
	if err != nil {
		return "", err
	}
	code := draw(symbol, o)
	words := []string{f.Headline}
	if f.Band != nil {
		words = append(words, "["+f.Band.Word+"]")
	}
	for _, l := range f.Lines {
		text := l.Text
		if l.Caution {
			text = "! " + text
		}
		words = append(words, text)
	}
	beside := textWidth
	if len(code) > 0 {
		beside -= uniseg.StringWidth(code[0]) + 2
	}
	if beside < 24 {
		return joinLines(append(code, wrapColumns(words, textWidth)...), o), nil
	}
	words = wrapColumns(words, beside)
	rows := make([]string, max(len(code), len(words)))
	for i := range rows {
		if i < len(code) {
			rows[i] = code[i] + "  "
		} else if len(code) > 0 {
			rows[i] = strings.Repeat(" ", uniseg.StringWidth(code[0])+2)
		}
		if i < len(words) {
			rows[i] += words[i]
		}
	}
	return joinLines(rows, o), nil
}

func joinLines(rows []string, o Options) string {
	var b strings.Builder
	for _, row := range rows {
		if o.ASCII {
			row = norm.NFD.String(row)
			row = strings.Map(func(r rune) rune {
				switch {
				case r == '–':
					return '-'
				case r == '•' || r == '·' || r == '×':
					return '*'
				case unicode.Is(unicode.Mn, r):
					return -1
				case r > 126:
					return '?'
				}
				return r
			}, row)
		}
		b.WriteString(strings.TrimRight(row, " "))
		b.WriteByte('\n')
	}
	return b.String()
}

// draw sets the symbol in characters, quiet zone included. If the terminal is too narrow the quiet zone
// gives way first; a symbol that still does not fit is left out.
func draw(s labels.Symbol, o Options) (rows []string) {
	wide := 1
	if o.ASCII {
		wide = 2
	}
	for zone := labels.QuietZone; s.Side()*wide > textWidth && zone > 1; zone-- {
		s = trim(s)
	}
	if s.Side()*wide > textWidth {
		return nil
	}
	lit := func(x, y int) bool {
		dark := y < s.Side() && s[y][x]
		return dark == o.Paper
	}
	if o.ASCII {
		for y := range s {
			var row strings.Builder
			for x := range s {
				row.WriteString(map[bool]string{true: "##", false: "  "}[lit(x, y)])
			}
			rows = append(rows, row.String())
		}
		return rows
	}
	for y := 0; y < s.Side(); y += 2 {
		var row strings.Builder
		for x := range s {
			switch upper, lower := lit(x, y), lit(x, y+1); {
			case upper && lower:
				row.WriteRune('█')
			case upper:
				row.WriteRune('▀')
			case lower:
				row.WriteRune('▄')
			default:
				row.WriteByte(' ')
			}
		}
		rows = append(rows, row.String())
	}
	return rows
}

// trim takes one module off every side.
func trim(s labels.Symbol) labels.Symbol {
	out := make(labels.Symbol, 0, len(s)-2)
	for _, row := range s[1 : len(s)-1] {
		out = append(out, row[1:len(row)-1])
	}
	return out
}

// wrapColumns breaks lines at spaces, and within words wider than the column, by the columns a terminal gives
// each letter.
func wrapColumns(lines []string, width int) (out []string) {
	for _, line := range lines {
		row := ""
		for _, word := range strings.Fields(line) {
			if row != "" && uniseg.StringWidth(row)+1+uniseg.StringWidth(word) > width {
				out, row = append(out, row), ""
			}
			if row != "" {
				row += " "
			}
			graphemes := uniseg.NewGraphemes(word)
			for graphemes.Next() {
				if uniseg.StringWidth(row)+graphemes.Width() > width {
					out, row = append(out, row), ""
				}
				row += graphemes.Str()
			}
		}
		out = append(out, row)
	}
	return out
}
