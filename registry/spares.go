package registry

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Spare is one real part off a machine, or bought. It comes from one place and goes into one machine; small things are counted
// in Supply.
type Spare struct {
	Row
	Part      string    `json:"part" db:"part"`
	TakenFrom Tag       `json:"taken_from,omitempty" db:"taken_from"` // empty = bought
	Maker     string    `json:"maker,omitempty" db:"maker"`           // of the machine it came from
	Model     string    `json:"model,omitempty" db:"model"`
	TakenAt   time.Time `json:"taken_at" db:"taken_at"`
	TakenBy   Initials  `json:"taken_by" db:"taken_by"`
	Place     string    `json:"place,omitempty" db:"place"`
	FittedTo  Tag       `json:"fitted_to,omitempty" db:"fitted_to"` // empty = on the shelf
	FittedAt  time.Time `json:"fitted_at,omitzero" db:"fitted_at"`
	FittedBy  Initials  `json:"fitted_by,omitempty" db:"fitted_by"`
	Replaced  bool      `json:"replaced,omitempty" db:"replaced"` // the machine's own was there still, and was thrown away as worn
}

// Kind names the table.
func (*Spare) Kind() string { return "spare" }

// Subject is the machine it came from, or went into if it was bought.
func (s *Spare) Subject() string {
	if s.TakenFrom == "" {
		return string(s.FittedTo)
	}
	return string(s.TakenFrom)
}

// Code is how people call the part: S17.
func (s *Spare) Code() string { return "S" + strconv.FormatInt(s.ID, 10) }

// PartUse says which part goes into a machine: one from the shelf by its code, a bought one, or, with neither, the one that lay on the
// shelf longest.
type PartUse struct {
	Part   string
	From   string
	Bought bool
}

// partNamed finds a part on the house's list.
func (w *Workshop) partNamed(name string) (PartKind, error) {
	list, err := w.Lists.Parts()
	if err != nil {
		return PartKind{}, err
	}
	name = strings.ToLower(strings.TrimSpace(name))
	names := make([]string, len(list))
	for i, p := range list {
		if p.Part == name {
			return p, nil
		}
		names[i] = p.Part
	}
	return PartKind{}, Errorf(Invalid, "part %q is not on the list: type one of %s", name, strings.Join(names, ", "))
}

// onIt says whether the machine has this part: it came with one, lost it when it was taken, and has one again when one was fitted.
func onIt(r Reader, tag Tag, part string) (bool, error) {
	var taken, fitted []Spare
	if err := r.All(&taken, Fields{"taken_from": tag, "part": part}); err != nil {
		return false, err
	}
	if err := r.All(&fitted, Fields{"fitted_to": tag, "part": part}); err != nil {
		return false, err
	}
	count := 1 - len(taken)
	for _, s := range fitted {
		if !s.Replaced {
			count++
		}
	}
	return count > 0, nil
}

// TakeSpare takes a part off a stripped machine and puts it on the shelf.
func (w *Workshop) TakeSpare(ctx context.Context, by Initials, tag Tag, part, place string) (m *Machine, s *Spare, err error) {
	m, err = w.onMachine(ctx, by, tag, "spare take", "", func(tx Tx, m *Machine) error {
		if err := m.moveTo(doTake, tx.Action().At); err != nil {
			return err
		}
		s, err = w.takePart(tx, m, part, place)
		return err
	})
	return m, s, err
}

func (w *Workshop) takePart(tx Tx, m *Machine, name, place string) (*Spare, error) {
	part, err := w.partNamed(name)
	if err != nil {
		return nil, err
	}
	if part.Counted {
		return nil, Errorf(Invalid, "part %q is a small thing kept by quantity: count it with pitman spare count %s NUMBER", part.Part, part.Part)
	}
	if place, err = cleanText("place", place, maxName); err != nil {
		return nil, err
	}
	if !part.fits(m) {
		return nil, Errorf(Conflict, "%s has no %s: the list of parts says it is for %s", m.Tag, part.Part, limitsOf(part))
	}
	there, err := onIt(tx, m.Tag, part.Part)
	if err != nil {
		return nil, err
	}
	if !there {
		return nil, Errorf(Conflict, "%s has no %s any more, it was taken already: pitman spare list %s shows what is left on it", m.Tag, part.Part, m.Tag)
	}
	a := tx.Action()
	s := &Spare{Part: part.Part, TakenFrom: m.Tag, Maker: m.Maker, Model: m.Model, TakenAt: a.At, TakenBy: a.By, Place: place}
	return s, tx.Put(s)
}

func limitsOf(p PartKind) string {
	var limits []string
	for _, d := range p.Drives {
		limits = append(limits, string(d)+" drive")
	}
	for _, l := range []string{p.Maker, p.Model, p.Class} {
		if l != "" {
			limits = append(limits, l)
		}
	}
	return strings.Join(limits, ", ")
}

// FitSpare puts a part into a machine on the bench.
func (w *Workshop) FitSpare(ctx context.Context, by Initials, tag Tag, use PartUse) (m *Machine, fitted string, err error) {
	m, err = w.onMachine(ctx, by, tag, "spare fit", "", func(tx Tx, m *Machine) error {
		at := tx.Action().At
		if err := m.moveTo(doFit, at); err != nil {
			return err
		}
		if fitted, err = w.fitPart(tx, m, use); err != nil {
			return err
		}
		part, err := w.partNamed(use.Part)
		if err != nil {
			return err
		}
		return tx.Put(&Work{Tag: tag, At: at, By: by, Did: "fit", Note: fitted, Electrical: bool(part.Electrical)})
	})
	return m, fitted, err
}

// fitPart puts one part in, off the shelf or bought, and says in words what it was.
func (w *Workshop) fitPart(tx Tx, m *Machine, use PartUse) (string, error) {
	part, err := w.partNamed(use.Part)
	if err != nil {
		return "", err
	}
	if use.From != "" && use.Bought {
		return "", Errorf(Invalid, "%s is both from the shelf and bought: give --from or --bought, not both", part.Part)
	}
	if !part.fits(m) {
		return "", Errorf(Conflict, "%s does not fit %s: the list of parts says it is for %s", part.Part, m.Tag, limitsOf(part))
	}
	if part.Electrical {
		m.unsafe()
	}
	var said string
	if part.Counted {
		said, err = useSupply(tx, part, use)
	} else {
		said, err = w.fitReal(tx, m, part, use)
	}
	if err != nil {
		return "", err
	}
	var needs []Need
	if err := tx.All(&needs, Fields{"tag": m.Tag, "part": part.Part, "met": false}); err != nil {
		return "", err
	}
	for i := range needs {
		needs[i].Met = true
		if err := tx.Put(&needs[i]); err != nil {
			return "", err
		}
	}
	return said, nil
}

func (w *Workshop) fitReal(tx Tx, m *Machine, part PartKind, use PartUse) (string, error) {
	a := tx.Action()
	s := &Spare{Part: part.Part, TakenAt: a.At, TakenBy: a.By}
	if !use.Bought {
		var err error
		if s, err = shelf(tx, part, use.From); err != nil {
			return "", err
		}
	}
	there, err := onIt(tx, m.Tag, part.Part)
	if err != nil {
		return "", err
	}
	s.FittedTo, s.FittedAt, s.FittedBy, s.Place, s.Replaced = m.Tag, a.At, a.By, "", there
	if err := tx.Put(s); err != nil {
		return "", err
	}
	if use.Bought {
		return fmt.Sprintf("%s %s, bought", part.Part, s.Code()), nil
	}
	if s.TakenFrom == "" {
		return fmt.Sprintf("%s %s", part.Part, s.Code()), nil
	}
	return fmt.Sprintf("%s %s from %s", part.Part, s.Code(), s.TakenFrom), nil
}

// shelf finds the part to use: the one named, or the one that lay there longest.
func shelf(r Reader, part PartKind, code string) (*Spare, error) {
	var free []Spare
	if err := r.All(&free, Fields{"part": part.Part, "fitted_to": ""}); err != nil {
		return nil, err
	}
	if code == "" {
		if len(free) == 0 {
			return nil, Errorf(Conflict, "no %s is on the shelf: take one with pitman spare take TAG %s, or give --bought", part.Part, part.Part)
		}
		return &free[0], nil
	}
	id, err := strconv.ParseInt(strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(code)), "S"), 10, 64)
	if err != nil || id < 1 {
		return nil, Errorf(Invalid, "part %q is no part's code: type S and its number, such as S17, as pitman spare list shows it", code)
	}
	var s Spare
	if err := r.Get(&s, Fields{"id": id}); err != nil {
		if CodeOf(err) == NotFound {
			return nil, Errorf(NotFound, "part S%d is not in this house: pitman spare list shows what is on the shelf", id)
		}
		return nil, err
	}
	switch {
	case s.Part != part.Part:
		return nil, Errorf(Conflict, "%s is a %s, not a %s: pitman spare list shows what is on the shelf", s.Code(), s.Part, part.Part)
	case s.FittedTo != "":
		return nil, Errorf(Conflict, "%s is in %s already, and a part is fitted once: pitman spare list shows what is on the shelf", s.Code(), s.FittedTo)
	}
	return &s, nil
}

// Shelf is what the house has in spares.
type Shelf struct {
	Spares   []Spare
	Supplies []Supply
}

// Spares lists what is on the shelf, in the order of coming in.
func (w *Workshop) Spares(ctx context.Context) (shelf Shelf, err error) {
	shelf = Shelf{Spares: []Spare{}, Supplies: []Supply{}}
	err = w.Store.View(ctx, func(r Reader) error {
		if err := r.All(&shelf.Spares, Fields{"fitted_to": ""}); err != nil {
			return err
		}
		return r.All(&shelf.Supplies, Fields{})
	})
	return shelf, err
}

// PartsFor lists the parts on the house's list that fit this machine, as far as is known of it.
func (w *Workshop) PartsFor(m *Machine) ([]PartKind, error) {
	list, err := w.Lists.Parts()
	return slices.DeleteFunc(slices.Clone(list), func(p PartKind) bool { return !p.fits(m) }), err
}

// LeftOn lists the parts that are still on a machine, by the house's list.
func (w *Workshop) LeftOn(ctx context.Context, tag Tag) (m *Machine, left []PartKind, err error) {
	left = []PartKind{}
	err = w.Store.View(ctx, func(r Reader) error {
		if m, err = MachineByTag(r, tag); err != nil {
			return err
		}
		list, err := w.PartsFor(m)
		if err != nil {
			return err
		}
		for _, p := range list {
			if p.Counted {
				continue
			}
			there, err := onIt(r, tag, p.Part)
			if err != nil {
				return err
			}
			if there {
				left = append(left, p)
			}
		}
		return nil
	})
	return m, left, err
}
