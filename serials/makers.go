package serials

import (
	"slices"
	"strings"
)

// Register is a row of a table of registers: a maker numbered the machines of this model apart from the
// others.
type Register struct {
	Maker, Model, Name string
	From, To           Year // when they were made; unknown: open
	Source, Note       string
	File               string
	Line               int
}

func registerRow(p *reader, line int, f []string) {
	r := Register{Maker: f[0], Model: f[1], Name: f[2], Source: f[5], Note: f[6], File: p.table.Name,
		Line: line}
	for column, value := range map[string]string{"maker": f[0], "model": f[1], "register": f[2]} {
		if MakerKey(value) == "" {
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
	r.From, r.To = s.from, s.to
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
	if MakerKey(f[0]) == "" || MakerKey(f[1]) == "" {
		p.fault(line, Missing,
			"maker or spelling is empty: type the maker's name, and the other spelling or the badge")
		return
	}
	p.table.Spellings = append(p.table.Spellings, Spelling{f[0], f[1], p.table.Name, line})
}

// join takes in what the files say beside numbers: registers, clues, and other spellings of makers. A
// spelling that several makers share belongs to none of them: it is asked.
func (t *Tables) join(files []*Table) {
	t.shared = map[string][]string{}
	byKey := map[string][]string{}
	for _, f := range files {
		t.clues = append(t.clues, f.Clues...)
		for _, s := range f.Spellings {
			if key := MakerKey(s.Spelling); !slices.Contains(byKey[key], s.Maker) {
				byKey[key] = append(byKey[key], s.Maker)
			}
		}
	}
	for key, makers := range byKey {
		slices.Sort(makers)
		switch m := t.makers[MakerKey(makers[0])]; {
		case t.makers[key] != nil: // rows of that very name come first
		case len(makers) > 1:
			t.shared[key] = makers
		case m != nil:
			t.makers[key] = m
		}
	}
	slices.SortStableFunc(t.clues, func(a, b Clue) int {
		return strings.Compare(MakerKey(a.Maker)+"\x00"+a.Mark, MakerKey(b.Maker)+"\x00"+b.Mark)
	})
}

// SharedBy returns the makers that a spelling or badge can stand for when it is several.
func (t *Tables) SharedBy(name string) []string { return t.shared[MakerKey(name)] }

// modelKey is the form in which two ways of writing a model are the same: "No. 8", "no 8" and "8".
func modelKey(model string) string {
	key := MakerKey(model)
	for _, word := range []string{"number", "model", "type", "nr", "no"} {
		if rest, ok := strings.CutPrefix(key, word); ok && rest != "" && isDigit(rest[0]) {
			return rest
		}
	}
	return key
}

// register returns the register of a model, if its numbers are apart.
func (m *maker) register(model string) *register {
	if key := modelKey(model); m != nil && key != "" {
		return m.registers[key]
	}
	return nil
}

// register is a maker's machines that were numbered apart.
type register struct {
	Register
	numbers *maker // its rows
}
