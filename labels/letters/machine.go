package letters

import (
	"io"
	"log"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/fontscan"
	"github.com/go-text/typesetting/language"
)

// families are asked for before any other font of the computer: plain letters without serifs, which go with
// the built-in ones.
var families = []string{"Noto Sans", "Noto Sans Arabic", "Noto Sans Hebrew", "Noto Sans CJK SC",
	fontscan.SansSerif}

// machine are the fonts of the computer, searched when the first letter is wanted that the built-in ones
// lack.
type machine struct {
	fonts *fontscan.FontMap
	faces map[*font.Font]*face
}

var machines = map[bool]*machine{} // by weight; used under the lock of lines

// onMachine finds a font of the computer that draws r, or nil.
func (f *Face) onMachine(r rune) *face {
	m := machines[f.Bold]
	if m == nil {
		m = &machine{fontscan.NewFontMap(log.New(io.Discard, "", 0)), make(map[*font.Font]*face)}
		// A computer without fonts, or without a folder for their list, has just the built-in ones.
		if err := m.fonts.UseSystemFonts(""); err != nil {
			m.fonts = nil
		} else {
			query := fontscan.Query{Families: families}
			if f.Bold {
				query.Aspect.Weight = font.WeightBold
			}
			m.fonts.SetQuery(query)
		}
		machines[f.Bold] = m
	}
	if m.fonts == nil {
		return nil
	}
	m.fonts.SetScript(language.LookupScript(r))
	found := m.fonts.ResolveFace(r)
	if found == nil {
		return nil
	}
	known := m.faces[found.Font]
	if known == nil {
		known = wrapFace(found)
		m.faces[found.Font] = known
	}
	if !known.has(r) {
		return nil
	}
	return known
}
