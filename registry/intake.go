package registry

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"pitman/serials"
)

// Incoming is a machine as a row of somebody's spreadsheet tells it.
type Incoming struct {
	Row     int
	Tag     Tag      // empty when it is to get one
	ID      string   // what the spreadsheet calls it
	Given   []string // names of the fields whose cells are filled
	Machine Machine
}

// What an incoming row does.
const (
	RowNew     = "new"     // it is logged
	RowSame    = "same"    // it is in the house already, and stays as it is
	RowChanged = "changed" // it is in the house already, and takes over what differs
)

// Outcome says what a row does, or would do.
type Outcome struct {
	Row     int      `json:"row"`
	Does    string   `json:"does"`
	Tag     Tag      `json:"tag,omitempty"`    // of the machine; a preview of a new one has none yet
	AsRow   int      `json:"as_row,omitempty"` // it is the same as this row of the file
	Maker   string   `json:"maker"`
	Serial  string   `json:"serial"`
	Year    string   `json:"year,omitempty"`
	Differs []string `json:"differs"` // fields in which the row and the house differ
}

// FieldError is a refusal of one field of a row.
type FieldError struct {
	Field string
	Err   error
}

func (e *FieldError) Error() string { return e.Err.Error() }
func (e *FieldError) Unwrap() error { return e.Err }

// Intake takes machines in row by row. It judges each against the house as it stands with the rows before it.
//
// A row is a machine of the house when its tag is in the house; else when its id was imported before, or is a tag of the house; else when
// maker and serial are in the house and it brings no tag or id that tells it from another row of the same file. A row without a serial,
// tag or id is a new machine each time.
type Intake struct {
	w      *Workshop
	read   Reader
	tx     Tx // nil: only look
	update bool
	rows   map[string]seenRow // what the rows so far are called
	taken  map[Tag]bool       // machines that they are
}

func (w *Workshop) intake(r Reader, tx Tx, update bool) *Intake {
	return &Intake{w: w, read: r, tx: tx, update: update, rows: map[string]seenRow{}, taken: map[Tag]bool{}}
}

type seenRow struct {
	row int
	tag Tag
}

// Import runs rows, which calls Add for each row, in one transaction: all machines come in, or none. With update, a machine that is in the
// house already takes over the filled cells that differ.
func (w *Workshop) Import(ctx context.Context, by Initials, file string, update bool, rows func(*Intake) error) error {
	return w.act(ctx, by, "import", file, func(tx Tx) error {
		return rows(w.intake(tx, tx, update))
	})
}

// Preview runs rows without changing anything.
func (w *Workshop) Preview(ctx context.Context, update bool, rows func(*Intake) error) error {
	return w.Store.View(ctx, func(r Reader) error {
		return rows(w.intake(r, nil, update))
	})
}

// OnlyLook makes the rest of the rows be judged and not written, once it is clear that none will be kept.
func (i *Intake) OnlyLook() { i.tx = nil }

// Add takes one row in. An error of type *FieldError says what is wrong with the row; any other one ends the import.
func (i *Intake) Add(in *Incoming) (Outcome, error) {
	m := &in.Machine
	if m.Stitch == "" {
		m.Stitch = "lockstitch"
	}
	m.key()
	out := Outcome{Row: in.Row, Maker: m.Maker, Serial: m.Serial, Differs: []string{}}
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
	if err := i.w.fill(&Machine{}, m); err != nil {
		return out, i.blame(err)
	}
	if err := i.w.estimate(m); err != nil {
		return out, i.blame(err)
	}
	out.Year = m.Year()
	if i.tx != nil {
		m.ImportID, m.Tag = in.ID, in.Tag
		if err := i.w.enter(i.tx, m); err != nil {
			return out, err
		}
		out.Tag = m.Tag
	}
	i.remember(in, out.Tag)
	return out, nil
}

// remember keeps by which names later rows of the file may mean this one.
func (i *Intake) remember(in *Incoming, tag Tag) {
	i.taken[tag] = true
	seen := seenRow{in.Row, tag}
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

// find looks for the row in the house, and among the rows before it.
func (i *Intake) find(in *Incoming) (*Machine, *seenRow, error) {
	m := &in.Machine
	if in.Tag != "" {
		if row, ok := i.rows["tag "+string(in.Tag)]; ok {
			return nil, nil, &FieldError{"tag", Errorf(Conflict, "tag %s stands in row %d already: a tag is given to one machine only", in.Tag, row.row)}
		}
		switch known, err := i.get(Fields{"tag": in.Tag}); {
		case err != nil:
			return nil, nil, err
		case known != nil && !i.update && (known.MakerKey != m.MakerKey || known.SerialKey != m.SerialKey):
			return nil, nil, &FieldError{"tag", Errorf(Conflict, "%s is %s %s in this house, and %s %s here: correct the row; empty its tag if it is "+
				"another machine; or, if the row is right, import with --update",
				in.Tag, known.Maker, known.Serial, m.Maker, m.Serial)}
		case known != nil:
			return known, nil, nil
		}
		if err := i.w.mayTake(i.read, in.Tag); err != nil {
			return nil, nil, &FieldError{"tag", err}
		}
	}
	if in.ID != "" {
		if row, ok := i.rows["id "+in.ID]; ok {
			return nil, nil, &FieldError{"id", Errorf(Conflict, "id %q stands in row %d already: give each machine one of its own", in.ID, row.row)}
		}
		known, err := i.get(Fields{"import_id": in.ID})
		if err == nil && known == nil {
			if tag, bad := ParseTag(in.ID); bad == nil {
				known, err = i.get(Fields{"tag": tag})
			}
		}
		if err != nil || known != nil {
			return known, nil, err
		}
	}
	if m.SerialKey == "" {
		return nil, nil, nil
	}
	if row, ok := i.rows["serial "+m.MakerKey+" "+m.SerialKey]; ok && in.Tag == "" && in.ID == "" {
		if row.tag == "" {
			return nil, &row, nil
		}
		known, err := i.get(Fields{"tag": row.tag})
		return known, &row, err
	}
	known, err := i.other(m)
	return known, nil, err
}

// other finds a machine of the same maker and serial that is none of the rows before: where the file tells two machines with one
// number apart, neither row may be taken for the other.
func (i *Intake) other(m *Machine) (*Machine, error) {
	found, err := twins(i.read, m)
	found = slices.DeleteFunc(found, func(t Machine) bool { return i.taken[t.Tag] })
	if err != nil || len(found) == 0 {
		return nil, err
	}
	// One that has an id is likely to come in a row with that id.
	at := slices.IndexFunc(found, func(t Machine) bool { return t.ImportID == "" })
	return &found[max(at, 0)], nil
}

func (i *Intake) get(where Fields) (*Machine, error) {
	var m Machine
	err := i.read.Get(&m, where)
	if CodeOf(err) == NotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &m, nil
}

// again deals with a machine that is in the house already.
func (i *Intake) again(in *Incoming, known *Machine, out Outcome) (Outcome, error) {
	out.Does = RowSame
	for _, name := range in.Given {
		f, ok := FieldNamed(name)
		if !ok || slices.Equal(f.Get(known), f.Get(&in.Machine)) || name == "serial" && known.SerialKey == in.Machine.SerialKey ||
			name == "maker" && known.MakerKey == in.Machine.MakerKey {
			continue
		}
		out.Differs = append(out.Differs, name)
	}
	if !i.update || len(out.Differs) == 0 {
		return out, nil
	}
	out.Does = RowChanged
	claimed := known.standing()
	err := i.w.correct(known, func(m *Machine) error {
		for _, name := range out.Differs {
			f, _ := FieldNamed(name)
			if err := f.Set(m, f.Get(&in.Machine)); err != nil {
				return &FieldError{name, err}
			}
		}
		return nil
	})
	if err != nil {
		return out, i.blame(err)
	}
	if i.tx == nil {
		return out, nil
	}
	if err := i.tx.Put(known); err != nil || reflect.DeepEqual(claimed, known.standing()) {
		return out, err
	}
	return out, i.w.stageProven(i.tx, known.Tag)
}

// blame finds the field that a refusal speaks of: its sentence begins with the name.
func (i *Intake) blame(err error) error {
	var refused *Error
	var told *FieldError
	if errors.As(err, &told) || !errors.As(err, &refused) {
		return err
	}
	for _, f := range MachineFields {
		if strings.HasPrefix(refused.Message, f.Name+" ") {
			return &FieldError{f.Name, err}
		}
	}
	return &FieldError{"serial", err}
}

// enter gives a machine its tag, unless it brings one, and stores it.
func (w *Workshop) enter(tx Tx, m *Machine) error {
	if m.Tag == "" {
		n, err := tx.NextNumber()
		if err != nil {
			return err
		}
		m.Tag = NewTag(w.Config.House.Letters, n)
	} else if letters, n, _ := m.Tag.Parts(); letters == w.Config.House.Letters {
		if err := tx.NumberGiven(n); err != nil {
			return err
		}
	}
	at := tx.Action().At
	m.Stage, m.StageSince = Logged, at
	m.LoggedAt, m.LoggedBy = at, tx.Action().By
	if err := m.standing().refused(nil); err != nil { // it has no records yet, so whatever it claims beyond its coming in is refused
		return err
	}
	return tx.Put(m)
}

// mostNumber is the highest number that a tag of this house may bring in from outside, so that a slip cannot use up all numbers.
const mostNumber = 99_999_999

// beyond says that a tag of this house has a number that it cannot have given.
func (w *Workshop) beyond(tag Tag) bool {
	letters, n, _ := tag.Parts()
	return letters == w.Config.House.Letters && n > mostNumber
}

// mayTake says whether a tag from outside is free in this house. One that was ever given here is not, whatever became of its bearer.
func (w *Workshop) mayTake(r Reader, tag Tag) error {
	if w.beyond(tag) {
		return Errorf(Invalid, "tag %s has a number above %d: type a tag that this house gave", tag, mostNumber)
	}
	events, err := r.History(string(tag))
	if err == nil && len(events) > 0 {
		return Errorf(Conflict, "tag %s was given in this house before, and is no machine in it now: empty the cell, and the machine gets a new tag", tag)
	}
	return err
}

// correct lets fn correct what is known of a machine; the estimate follows.
func (w *Workshop) correct(m *Machine, fn func(*Machine) error) error {
	if m.HandedTo != "" {
		return workedOnThere(m.Tag, m.HandedTo)
	}
	before := *m
	if err := fn(m); err != nil {
		return err
	}
	if m.Drive != before.Drive && !slices.Contains([]Stage{Logged, Queued, Bench, Check}, m.Stage) {
		if _, err := m.step(doConvert); err != nil {
			return Errorf(Conflict, "drive of %s cannot be corrected now: %v", m.Tag, err)
		}
		return Errorf(Conflict, "drive of %s cannot be corrected while it is %s, since its tests were made for %s drive: use pitman convert %s --to %s",
			m.Tag, m.Stage, before.Drive, m.Tag, m.Drive)
	}
	if m.Drive != before.Drive {
		// Under the other drive its gates asked for something else: no earlier test speaks for it.
		m.untest()
		m.unsafe()
	}
	if err := m.Validate(); err != nil {
		return err
	}
	if err := w.fill(&before, m); err != nil {
		return err
	}
	if before.sameEvidence(m) {
		return nil
	}
	return w.estimate(m)
}

// key fills in what maker and serial are looked up by.
func (m *Machine) key() {
	m.MakerKey, m.SerialKey = MakerKey(m.Maker), ""
	if m.Serial != NoSerial {
		m.SerialKey = serials.Normalise(m.Serial)
	}
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
	if len(o.Differs) > 0 {
		return fmt.Sprintf("%s; other %s", s, strings.Join(o.Differs, ", "))
	}
	return s
}
