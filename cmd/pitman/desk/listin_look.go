package desk

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/makers"
	"pitman/registry/misread"
	"pitman/registry/movein"
	spread "pitman/registry/sheet"
)

// readHeader reads the header with a row said to name the columns, or 0.
func (s *listIn) readHeader(d *Desk, row int) (*imports.Header, error) {
	if s.kind == "" {
		return d.ReadHeader(bytes.NewReader(s.text), row, nil, s.answers)
	}
	return movein.ReadHeader(s.kind, bytes.NewReader(s.text), row, nil, s.answers)
}

// open reads the header; whatever of it is a fault goes into the result, and there is nothing to run then.
func (s *listIn) open(d *Desk, result *imports.Result) (ready bool, err error) {
	h, err := s.readHeader(d, s.row)
	var wrong *spread.Fault
	if errors.As(err, &wrong) {
		s.header, result.Faults, result.Faulty = nil, []*spread.Fault{wrong}, 1
		return false, nil
	}
	if err != nil {
		return false, err
	}
	s.header, result.Faults = h, h.Faults()
	result.Faulty = len(result.Faults)
	return result.Faulty == 0, nil
}

// columns says what each column that is known holds.
func (s *listIn) columns() (said []string) {
	h := s.header
	for i, name := range h.Sheet.Header() {
		switch {
		case name == "" || slices.Contains(h.Unknown, i):
		case h.Columns[i] == "":
			said = append(said, name+" is left out")
		case spread.ColumnKey(name) == spread.ColumnKey(h.Columns[i]):
			said = append(said, name)
		default:
			said = append(said, fmt.Sprintf("%s is the %s", name, h.Columns[i]))
		}
	}
	return said
}

// look finds out what the list would do to the house as it stands.
func (s *listIn) look(d *Desk) error {
	result := &imports.Result{}
	ready, err := s.open(d, result)
	if err == nil && ready {
		if err = s.hints(d); err == nil {
			s.last = s.header.Sheet.Row()
			result, err = s.run(d, nil)
		}
	}
	if err != nil {
		return err
	}
	for _, n := range result.Near {
		s.offer(n)
	}
	s.result = result
	return nil
}

// run takes the list in if agreed finds that it does what was shown; without it, it only looks.
func (s *listIn) run(d *Desk, agreed func(*imports.Result) error) (*imports.Result, error) {
	result := &imports.Result{}
	if ready, err := s.open(d, result); err != nil || !ready {
		return result, err
	}
	if s.kind != "" {
		return s.runAlong(d, agreed)
	}
	in := &imports.Import{Sheet: s.header.Sheet, Columns: s.header.Columns, Read: s.read, Rows: s.decided,
		Agreed: agreed, File: bytes.NewReader(s.text), Last: s.last}
	var err error
	if agreed == nil {
		err = d.Look(d.ctx, s.update, in, result)
	} else {
		err = d.TakeIn(d.ctx, d.by, filepath.Base(s.path), s.update, in, result)
	}
	if errors.Is(err, imports.ErrFaults) {
		err = nil
	}
	return result, err
}

// runAlong is run for what a workshop has beside its machines.
func (s *listIn) runAlong(d *Desk, agreed func(*imports.Result) error) (*imports.Result, error) {
	list := &movein.List{Kind: s.kind, File: filepath.Base(s.path), Header: s.header, Read: s.read}
	if agreed == nil {
		r, err := d.MovingIn.Look(d.ctx, list)
		return asImport(r), err
	}
	r, err := d.MovingIn.Take(d.ctx, d.by, list, func(r *movein.Result) error { return agreed(asImport(r)) })
	return asImport(r), err
}

// asImport tells of a list of bases, partners or orders as it is told of machines.
func asImport(r *movein.Result) *imports.Result {
	as := &imports.Result{New: r.New, Same: r.Same, Faults: r.Faults, Faulty: len(r.Faults)}
	for _, row := range r.Rows {
		as.Rows = append(as.Rows, imports.Outcome{Row: row.Row, Does: row.Does, Tag: registry.Tag(row.ID),
			Maker: row.Name, Stage: row.Stage, Remark: row.Remark})
	}
	return as
}

// agreed refuses what was not shown.
func (s *listIn) agreed(result *imports.Result) error {
	if !slices.EqualFunc(result.Rows, s.result.Rows, does) {
		return registry.Errorf(registry.Conflict, "the house changed while this stood here: read what the "+
			"list would do now, and press Enter again")
	}
	return nil
}

// does says whether two looks at a row come to the same.
func does(a, b imports.Outcome) bool {
	if a.Does == imports.RowNew {
		a.Tag, b.Tag = "", ""
	}
	return a.String() == b.String() && a.Remark == b.Remark && a.Row == b.Row
}

// hints gathers the words that are perhaps known ones: makers, models, donors, places, partners.
func (s *listIn) hints(d *Desk) error {
	words := d.Words()
	asked, as := makers.Asked, map[string]string(nil)
	if s.kind != "" {
		asked, as = s.kind.Words()
	}
	asTyped := map[misread.Word]string{} // what was agreed to stays on offer, to be taken back
	return misread.Settle(misread.TypedIn(s.header.Sheet, s.header.Columns, asked, asTyped), as,
		asTyped,
		words.Also, func(field, maker string, t *misread.Typed) (string, error) {
			h, ask, err := words.Hint(d.ctx, field, maker, t.Value)
			if err == nil && ask {
				for _, name := range h.Choices() {
					s.offer(imports.NearMiss{Field: t.Field, Value: t.Value, Near: name, Rows: t.Rows})
				}
			}
			return t.Value, err
		})
}

func (s *listIn) offer(n imports.NearMiss) {
	same := func(o offeredWord) bool { return o.Field == n.Field && o.Value == n.Value && o.Near == n.Near }
	if !slices.ContainsFunc(s.offered, same) {
		s.offered = append(slices.Clip(s.offered), offeredWord{NearMiss: n})
	}
}

// agree reads an offered word as the one that it is near to, or as it stands again.
func (s *listIn) agree(d *Desk, i int) {
	s.offered = slices.Clone(s.offered)
	at := &s.offered[i]
	word := misread.Word{Field: at.Field, Value: at.Value}
	taken := !at.taken
	for j := range s.offered {
		if o := &s.offered[j]; o.Field == at.Field && o.Value == at.Value {
			o.taken = false
		}
	}
	read := maps.Clone(s.read)
	if read == nil {
		read = map[misread.Word]string{}
	}
	delete(read, word)
	if at.taken = taken; taken {
		read[word] = at.Near
	}
	s.read = read
	d.refuse(s.look(d))
}

// command is what does the same on the command line, as far as it was answered here.
func (s *listIn) command(more ...string) string {
	if s.kind != "" {
		more = append(more, "--as", string(s.kind))
	}
	if s.row > 0 {
		more = append(more, "--header-row", strconv.Itoa(s.row))
	}
	if s.update {
		more = append(more, "--update")
	}
	last := map[string]string{}
	for _, answer := range s.answers {
		last[strings.TrimSpace(answer.Column)] = answer.Field
	}
	for _, column := range slices.Sorted(maps.Keys(last)) {
		more = append(more, "--map", quotedPath(column+"="+last[column]))
	}
	return importCommand(s.path, more...)
}
