package imports

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"reflect"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/intake"
	"pitman/registry/stock"
)

// Incoming is a machine as a row of somebody's spreadsheet tells it.
type Incoming struct {
	Row     int
	Tag     registry.Tag // empty when it is to get one
	ID      string       // what the spreadsheet calls it
	Given   []string     // names of the fields whose cells are filled
	Machine stock.Machine
	Told    oldList // where an old list says that it stands

	another  bool // it is no other row's machine, whatever its serial
	exported bool // by a house, which may have bases that stayed there

	facts []uint32 // of the row alone, before the house adds to it
}

// What an incoming row does.
const (
	RowNew     = "new"     // it is logged
	RowSame    = "same"    // it is in the house already, and stays as it is
	RowChanged = "changed" // it is in the house already, and takes over what differs
)

// Outcome says what a row does, or would do.
type Outcome struct {
	Row     int          `json:"row"`
	Does    string       `json:"does"`
	Tag     registry.Tag `json:"tag,omitempty"`    // of the machine; a preview of a new one has none yet
	AsRow   int          `json:"as_row,omitempty"` // it is the same as this row of the file
	Maker   string       `json:"maker"`
	Serial  string       `json:"serial"`
	Year    string       `json:"year,omitempty"`
	Differs []string     `json:"differs"` // fields in which the row and the house differ

	Stage  registry.Stage `json:"stage,omitempty"`  // at which one comes in whose stage the row tells
	Remark string         `json:"remark,omitempty"` // what the row tells and is not kept, and why
}

// Intake takes machines in row by row. It judges each against the house as it stands with the rows before it.
//
// A row is a machine of the house when its tag is in the house; else when its id was imported before, or is a
// tag of the house; else when maker and serial are in the house and it brings no tag or id that tells it from
// another row of the same file. A row without a serial, tag or id is a new machine each time.
type Intake struct {
	w      *Imports
	house  stock.Reader // the house before the first row
	read   stock.Reader // the house with the rows before
	tx     stock.Tx     // nil: only look
	update bool
	rows   map[string]seenRow    // what the rows so far are called
	taken  map[registry.Tag]bool // machines that they are
	twins  intake.ManyTwins      // which machines were there before
	twin   *Twin                 // what the row that was refused last is refused for
}

func (w *Imports) intake(house, r stock.Reader, tx stock.Tx, update bool) *Intake {
	return &Intake{w: w, house: house, read: r, tx: tx, update: update, rows: map[string]seenRow{},
		taken: map[registry.Tag]bool{}}
}

type seenRow struct {
	row int
	tag registry.Tag

	facts []uint32 // a sum of each field, since a file may have a million rows
}

// Import runs rows, which calls Add for each row, in one transaction: all machines come in, or none. With
// update, a machine that is in the house already takes over the filled cells that differ.
func (w *Imports) Import(ctx context.Context, by registry.Initials, file string, update bool,
	rows func(*Intake) error) error {
	return w.Act(ctx, by, "import", file, func(tx stock.Tx) error {
		tx.WriteBehind()
		// What was there before is read beside the transaction, where nothing has to be stored first.
		return w.Store.View(ctx, func(house stock.Reader) error {
			return rows(w.intake(house, tx, tx, update))
		})
	})
}

// Preview runs rows without changing anything.
func (w *Imports) Preview(ctx context.Context, update bool, rows func(*Intake) error) error {
	return w.Store.View(ctx, func(r stock.Reader) error {
		return rows(w.intake(r, r, nil, update))
	})
}

// OnlyLook makes the rest of the rows be judged and not written, once it is clear that none will be kept.
func (i *Intake) OnlyLook() { i.tx = nil }

// Add takes one row in. A refusal that names its field says what is wrong with the row; any other error ends
// the import, since the next row would meet it, too: a list of the house that cannot be read, say.
func (i *Intake) Add(in *Incoming) (Outcome, error) {
	m := &in.Machine
	if m.Stitch == "" {
		m.Stitch = "lockstitch"
	}
	m.Key()
	in.facts = sums(in)
	// what is kept of a row must not keep the whole line that it was cut out of
	out := Outcome{Row: in.Row, Maker: strings.Clone(m.Maker), Serial: strings.Clone(m.Serial),
		Differs: []string{}}
	known, row, err := i.find(in)
	switch {
	case err != nil:
		return out, err
	case row != nil && known == nil:
		out.Does, out.AsRow, out.Tag = RowSame, row.row, row.tag
		return out, nil
	case known != nil:
		out.Tag = known.Tag
		if row != nil {
			out.AsRow = row.row
		}
		i.remember(in, known.Tag)
		return i.again(in, known, out)
	}
	out.Does = RowNew
	var refused *registry.Error
	switch err := intake.CheckArrival(i.read, m); {
	case err == nil:
	case in.exported && errors.As(err, &refused) && refused.Field == "arrived-with":
		out.Remark = fmt.Sprintf("arrived with %s, which is not in this house", m.ArrivedWith)
	default:
		return out, err
	}
	if err := i.w.Intake.Fill(&stock.Machine{}, m); err != nil {
		return out, err
	}
	if err := i.w.Intake.Estimate(m); err != nil {
		return out, err
	}
	out.Year = m.Year()
	enter := i.w.Intake.Enter
	if in.Told != (oldList{}) {
		move, err := i.w.moveIn(m, in.Told)
		if err != nil {
			return out, err
		}
		out.Stage, out.Remark, enter = move.stage, strings.Trim(out.Remark+"; "+move.remark, "; "), move.enter
	}
	if i.tx != nil {
		m.ImportID, m.Tag = in.ID, in.Tag
		if err := enter(i.tx, m); err != nil {
			return out, err
		}
		out.Tag = m.Tag
	}
	i.remember(in, out.Tag)
	return out, nil
}

// remember keeps by which names later rows of the file may mean this one.
func (i *Intake) remember(in *Incoming, tag registry.Tag) {
	i.taken[tag] = true
	seen := seenRow{in.Row, tag, in.facts}
	for _, name := range in.names() {
		if _, known := i.rows[name]; !known {
			i.rows[name] = seen
		}
	}
}

// names are the keys of a row within its file: by tag and by id, or else by maker and serial.
func (in *Incoming) names() []string {
	var names []string
	if in.Tag != "" {
		names = append(names, "tag "+string(in.Tag))
	}
	if in.ID != "" {
		names = append(names, "id "+in.ID)
	}
	if in.Machine.SerialKey != "" {
		names = append(names, "serial "+in.Machine.MakerKey+" "+in.Machine.SerialKey)
	}
	return names
}

// sums makes a sum of each filled field of a row, to tell two rows apart by.
func sums(in *Incoming) []uint32 {
	all := make([]uint32, len(stock.MachineFields)+1)
	if in.Told != (oldList{}) {
		h := fnv.New32a()
		fmt.Fprint(h, in.Told)
		all[len(stock.MachineFields)] = h.Sum32()
	}
	for i, f := range stock.MachineFields {
		if !slices.Contains(in.Given, f.Name) {
			continue
		}
		h := fnv.New32a()
		for _, v := range f.Get(&in.Machine) {
			io.WriteString(h, v+"\x00")
		}
		all[i] = h.Sum32()
	}
	return all
}

// differing lists the fields, beside those that say which machine it is, of which a later row of a file says
// what the earlier one does not: taken for the same machine, it would be lost.
func differing(later, earlier []uint32) (fields []string) {
	for i, f := range stock.MachineFields {
		if f.Name != "maker" && f.Name != "serial" && later[i] != 0 && later[i] != earlier[i] {
			fields = append(fields, f.Name)
		}
	}
	if at := len(stock.MachineFields); later[at] != 0 && later[at] != earlier[at] {
		fields = append(fields, "stage or date")
	}
	return fields
}

// find looks for the row in the house, and among the rows before it.
func (i *Intake) find(in *Incoming) (*stock.Machine, *seenRow, error) {
	m := &in.Machine
	if in.Tag != "" {
		if row, ok := i.rows["tag "+string(in.Tag)]; ok {
			return nil, nil,
				registry.Errorf(registry.Conflict,
					"tag %s stands in row %d already: a tag is given to one machine only", in.Tag, row.row).
					On("tag")
		}
		switch known, err := i.get(stock.Fields{"tag": in.Tag}); {
		case err != nil:
			return nil, nil, err
		case known != nil && !i.update && (known.MakerKey != m.MakerKey || known.SerialKey != m.SerialKey):
			return nil, nil,
				registry.Errorf(registry.Conflict,
					"%s is %s %s in this house, and %s %s here: correct the row; empty its tag if it is "+
						"another machine; or, if the row is right, let the import change the machine",
					in.Tag, known.Maker, known.Serial, m.Maker,
					m.Serial).On("tag").Then(registry.Next(registry.DoUpdate, ""))
		case known != nil:
			return known, nil, nil
		}
		if err := i.w.Intake.MayTake(i.read, in.Tag); err != nil {
			return nil, nil, registry.OnField("tag", err)
		}
	}
	if in.ID != "" {
		if row, ok := i.rows["id "+in.ID]; ok {
			return nil, nil,
				registry.Errorf(registry.Conflict,
					"id %q stands in row %d already: give each machine one of its own", in.ID,
					row.row).On("id")
		}
		known, err := i.get(stock.Fields{"import_id": in.ID})
		if err == nil && known == nil {
			if tag, bad := registry.ParseTag(in.ID); bad == nil {
				known, err = i.get(stock.Fields{"tag": tag})
			}
		}
		if err != nil || known != nil {
			return known, nil, err
		}
	}
	if m.SerialKey == "" {
		return nil, nil, nil
	}
	if row, ok := i.rows["serial "+m.MakerKey+" "+m.SerialKey]; ok && in.Tag == "" && in.ID == "" &&
		!in.another {
		if differs := differing(in.facts, row.facts); len(differs) > 0 {
			i.twin = &Twin{Row: in.Row, As: row.row, Maker: m.Maker, Serial: m.Serial, Differs: differs}
			return nil, nil,
				registry.Errorf(registry.Conflict,
					"%s %s stands in row %d already, with another %s: if these are two machines, give each "+
						"row an id of its own; if they are one, leave out a row or have both say the same",
					m.Maker, m.Serial, row.row, strings.Join(differs, ", ")).On("serial")
		}
		if row.tag == "" {
			return nil, &row, nil
		}
		known, err := i.get(stock.Fields{"tag": row.tag})
		return known, &row, err
	}
	known, err := i.other(m)
	return known, nil, err
}

// other finds a machine of the same maker and serial that is none of the rows before: where the file tells
// two machines with one number apart, neither row may be taken for the other.
func (i *Intake) other(m *stock.Machine) (*stock.Machine, error) {
	found, err := i.twins.Find(i.house, m)
	found = slices.DeleteFunc(found, func(t stock.Machine) bool { return i.taken[t.Tag] })
	if err != nil || len(found) == 0 {
		return nil, err
	}
	// One that has an id is likely to come in a row with that id.
	at := slices.IndexFunc(found, func(t stock.Machine) bool { return t.ImportID == "" })
	return &found[max(at, 0)], nil
}

func (i *Intake) get(where stock.Fields) (*stock.Machine, error) {
	var m stock.Machine
	err := i.read.Get(&m, where)
	if registry.CodeOf(err) == registry.NotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &m, nil
}

// again deals with a machine that is in the house already.
func (i *Intake) again(in *Incoming, known *stock.Machine, out Outcome) (Outcome, error) {
	out.Does = RowSame
	for _, name := range in.Given {
		f, ok := stock.FieldNamed(name)
		if !ok || slices.Equal(f.Get(known), f.Get(&in.Machine)) || name == "serial" &&
			known.SerialKey == in.Machine.SerialKey ||
			name == "maker" && known.MakerKey == in.Machine.MakerKey {
			continue
		}
		out.Differs = append(out.Differs, name)
	}
	if at, _, _ := in.Told.comesIn(known); in.Told.Stage != "" && at != known.Stage {
		out.Remark = fmt.Sprintf("%s stays %s: it is in the house already, and a list does not move it",
			known.Tag, known.Stage)
	}
	if !i.update || len(out.Differs) == 0 {
		return out, nil
	}
	out.Does = RowChanged
	was, claimed := *known, known.Standing()
	var by registry.Initials
	if i.tx != nil {
		by = i.tx.Action().By
	}
	err := i.w.Intake.Correct(i.read, by, known, func(m *stock.Machine) error {
		for _, name := range out.Differs {
			f, _ := stock.FieldNamed(name)
			if err := f.Set(m, f.Get(&in.Machine)); err != nil {
				return registry.OnField(name, err)
			}
		}
		return nil
	})
	if err != nil {
		return out, err
	}
	if i.tx == nil {
		return out, nil
	}
	if err := i.w.Intake.Keep(i.tx, &was, known); err != nil || reflect.DeepEqual(claimed, known.Standing()) {
		return out, err
	}
	return out, i.w.StageProven(i.tx, known.Tag)
}

// String says in one line what a row does.
func (o Outcome) String() string {
	var s string
	switch {
	case o.Does == RowNew && o.Tag != "":
		s = fmt.Sprintf("new, %s", o.Tag)
	case o.Does == RowNew:
		s = "new"
	case o.Does == RowSame && o.AsRow != 0:
		s = fmt.Sprintf("same as row %d", o.AsRow)
	case o.Does == RowSame:
		s = fmt.Sprintf("same as %s", o.Tag)
	default:
		s = fmt.Sprintf("changes %s", o.Tag)
	}
	if o.Stage != "" {
		s += ", " + string(o.Stage)
	}
	if len(o.Differs) > 0 {
		return fmt.Sprintf("%s; other %s", s, strings.Join(o.Differs, ", "))
	}
	return s
}
