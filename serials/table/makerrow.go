package table

import (
	"pitman/serials/names"
	"pitman/serials/years"
)

// Register is a row of a table of registers: a maker numbered the machines of this model apart from the
// others.
type Register struct {
	Maker, Model, Name string
	From, To           years.Year // when they were made; unknown: open
	Source, Note       string
	File               string
	Line               int
}

func registerRow(p *reader, line int, f []string) {
	r := Register{Maker: f[0], Model: f[1], Name: f[2], Source: f[5], Note: f[6], File: p.table.Name,
		Line: line}
	for column, value := range map[string]string{"maker": f[0], "model": f[1], "register": f[2]} {
		if names.MakerKey(value) == "" {
			p.fault(line, Missing,
				"%s is empty: type maker, model and the name of the register that its numbers belong to",
				column)
			return
		}
	}
	s, ok := p.span(line, f[3], f[4])
	if !ok && (f[3] != "" || f[4] != "") {
		return
	}
	r.From, r.To = s.From, s.To
	p.table.Registers = append(p.table.Registers, r)
}

// Spelling is a row of a table of makers' names: another way in which a maker is written, or a badge that its
// machines carry.
type Spelling struct {
	Maker, Spelling string
	File            string
	Line            int
}

func spellingRow(p *reader, line int, f []string) {
	if names.MakerKey(f[0]) == "" || names.MakerKey(f[1]) == "" {
		p.fault(line, Missing,
			"maker or spelling is empty: type the maker's name, and the other spelling or the badge")
		return
	}
	p.table.Spellings = append(p.table.Spellings, Spelling{f[0], f[1], p.table.Name, line})
}
