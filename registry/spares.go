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

// Supply is a small thing that is counted: needles, belts, bobbins, tyres, oil.
type Supply struct {
	Row
	Part  string `json:"part" db:"part"`
	Count int    `json:"count" db:"count"`
}

// Kind names the table.
func (*Supply) Kind() string { return "supply" }

// Subject is the thing itself.
func (s *Supply) Subject() string { return "supply " + s.Part }

// Need is a part that a machine waits for.
type Need struct {
	Row
	Tag   Tag       `json:"tag" db:"tag"`
	Part  string    `json:"part" db:"part"`
	Since time.Time `json:"since" db:"since"`
	Met   bool      `json:"met" db:"met"`
}

// Kind names the table.
func (*Need) Kind() string { return "need" }

// Subject is the machine that waits.
func (n *Need) Subject() string { return string(n.Tag) }

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
func (w *Workshop) TakeSpare(ctx context.Context, by Initials, tag Tag, part, place string) (s *Spare, err error) {
	_, err = w.onMachine(ctx, by, tag, "spare take", "", func(tx Tx, m *Machine) error {
		if err := m.moveTo(doTake, tx.Action().At); err != nil {
			return err
		}
		s, err = w.takePart(tx, m, part, place)
		return err
	})
	return s, err
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
	if fits, _ := part.Fits(m.Maker, m.Model, ""); !fits || !part.Drives.Has(m.Drive) {
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
	if fits, _ := part.Fits(m.Maker, m.Model, ""); !fits || !part.Drives.Has(m.Drive) {
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
	if err := tx.All(&needs, Fields{"tag": m.Tag, "part": part.Part, "met": 0}); err != nil {
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

func useSupply(tx Tx, part PartKind, use PartUse) (string, error) {
	if use.From != "" {
		return "", Errorf(Invalid, "%s is a small thing kept by quantity and has no code: leave --from out", part.Part)
	}
	if use.Bought {
		return part.Part + ", bought", nil
	}
	s, err := supplyOf(tx, part.Part)
	if err != nil {
		return "", err
	}
	if s.Count == 0 {
		return "", Errorf(Conflict, "no %s is left: count what is there with pitman spare count %s NUMBER, or give --bought", part.Part, part.Part)
	}
	s.Count--
	return fmt.Sprintf("%s, %d left", part.Part, s.Count), tx.Put(s)
}

func supplyOf(r Reader, part string) (*Supply, error) {
	s := &Supply{Part: part}
	err := r.Get(s, Fields{"part": part})
	if CodeOf(err) == NotFound {
		return &Supply{Part: part}, nil
	}
	return s, err
}

// CountSupply sets how many of a small thing are there.
func (w *Workshop) CountSupply(ctx context.Context, by Initials, name string, count int) (s *Supply, err error) {
	part, err := w.partNamed(name)
	if err != nil {
		return nil, err
	}
	if !part.Counted {
		return nil, Errorf(Invalid, "part %q moves one by one: take it with pitman spare take TAG %s", part.Part, part.Part)
	}
	if count < 0 || count > 1_000_000 {
		return nil, Errorf(Invalid, "count %d of %s is no quantity: type a number from 0 to 1000000", count, part.Part)
	}
	err = w.act(ctx, by, "spare count", "", func(tx Tx) error {
		if s, err = supplyOf(tx, part.Part); err != nil {
			return err
		}
		s.Count = count
		return tx.Put(s)
	})
	return s, err
}

// PartsFor lists the parts on the house's list that fit this machine, as far as is known of it.
func (w *Workshop) PartsFor(m *Machine) ([]PartKind, error) {
	list, err := w.Lists.Parts()
	return slices.DeleteFunc(slices.Clone(list), func(p PartKind) bool {
		fits, _ := p.Fits(m.Maker, m.Model, "")
		return !fits || !p.Drives.Has(m.Drive)
	}), err
}

// NeedSpare notes that a machine waits for a part.
func (w *Workshop) NeedSpare(ctx context.Context, by Initials, tag Tag, name string) (*Machine, error) {
	return w.onMachine(ctx, by, tag, "spare need", "", func(tx Tx, m *Machine) error {
		if err := m.moveTo(doNeed, tx.Action().At); err != nil {
			return err
		}
		part, err := w.partNamed(name)
		if err != nil {
			return err
		}
		var open []Need
		if err := tx.All(&open, Fields{"tag": tag, "part": part.Part, "met": 0}); err != nil {
			return err
		}
		if len(open) > 0 {
			return Errorf(Conflict, "%s waits for a %s already, since %s", tag, part.Part, open[0].Since.In(w.Config.Location()).Format(time.DateOnly))
		}
		return tx.Put(&Need{Tag: tag, Part: part.Part, Since: tx.Action().At})
	})
}

// OpenNeed is a part that a machine waits for, and how many lie on the shelf.
type OpenNeed struct {
	Need
	OnShelf int `json:"on_shelf"`
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

// LeftOn lists the parts that are still on a machine, by the house's list.
func (w *Workshop) LeftOn(ctx context.Context, tag Tag) (m *Machine, left []PartKind, err error) {
	list, err := w.Lists.Parts()
	if err != nil {
		return nil, nil, err
	}
	left = []PartKind{}
	err = w.Store.View(ctx, func(r Reader) error {
		if m, err = MachineByTag(r, tag); err != nil {
			return err
		}
		for _, p := range list {
			if fits, _ := p.Fits(m.Maker, m.Model, ""); bool(p.Counted) || !fits || !p.Drives.Has(m.Drive) {
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

// Needs lists what machines wait for.
func (w *Workshop) Needs(ctx context.Context) (needs []OpenNeed, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		needs, err = openNeeds(r)
		return err
	})
	return needs, err
}

func openNeeds(r Reader) ([]OpenNeed, error) {
	var open []Need
	if err := r.All(&open, Fields{"met": 0}); err != nil {
		return nil, err
	}
	needs := []OpenNeed{}
	for _, n := range open {
		var free []Spare
		if err := r.All(&free, Fields{"part": n.Part, "fitted_to": ""}); err != nil {
			return nil, err
		}
		s, err := supplyOf(r, n.Part)
		if err != nil {
			return nil, err
		}
		needs = append(needs, OpenNeed{n, len(free) + s.Count})
	}
	slices.SortStableFunc(needs, func(a, b OpenNeed) int { return a.Since.Compare(b.Since) })
	return needs, nil
}
