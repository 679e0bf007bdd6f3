package spares

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/mains"
	"pitman/registry/place"
	"pitman/registry/stock"
)

// Spare is one real part off a machine, or bought. It comes from one place and goes into one machine; small
// things are counted in Supply.
type Spare struct {
	registry.Row
	Part      string            `json:"part" db:"part"`
	TakenFrom registry.Tag      `json:"taken_from,omitempty" db:"taken_from"` // empty = bought
	Maker     string            `json:"maker,omitempty" db:"maker"`           // of the machine it came from
	Model     string            `json:"model,omitempty" db:"model"`
	TakenAt   time.Time         `json:"taken_at" db:"taken_at"`
	TakenBy   registry.Initials `json:"taken_by" db:"taken_by"`
	Place     string            `json:"place,omitempty" db:"place"`
	FittedTo  registry.Tag      `json:"fitted_to,omitempty" db:"fitted_to"` // empty = on the shelf
	FittedAt  time.Time         `json:"fitted_at,omitzero" db:"fitted_at"`
	FittedBy  registry.Initials `json:"fitted_by,omitempty" db:"fitted_by"`
	// the machine's own was there still, and was thrown away as worn
	Replaced bool `json:"replaced,omitempty" db:"replaced"`
	// of a mains part: the machine that failed with it on, and what
	Failed string `json:"failed,omitempty" db:"failed"`
	// sold or scrapped by itself; what it brought is a taking
	LeftAt time.Time         `json:"left_at,omitzero" db:"left_at"`
	LeftBy registry.Initials `json:"left_by,omitempty" db:"left_by"`
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

// PartUse says which part goes into a machine: one from the shelf by its code, a bought one, or, with
// neither, the one that lay on the shelf longest.
type PartUse struct {
	Part   string
	From   string
	Bought bool
}

// PartNamed finds a part on the house's list.
func (w *Spares) PartNamed(name string) (PartKind, error) {
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
	return PartKind{},
		registry.Errorf(registry.Invalid, "part %q is not on the list: type one of %s", name,
			strings.Join(names, ", "))
}

// onIt says whether the machine has this part: it came with one, lost it when it was taken, and has one again
// when one was fitted.
func onIt(r stock.Reader, tag registry.Tag, part string) (bool, error) {
	var taken, fitted []Spare
	if err := r.All(&taken, stock.Fields{"taken_from": tag, "part": part}); err != nil {
		return false, err
	}
	if err := r.All(&fitted, stock.Fields{"fitted_to": tag, "part": part}); err != nil {
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
func (w *Spares) TakeSpare(ctx context.Context, by registry.Initials, tag registry.Tag, part,
	place string) (m *stock.Machine, s *Spare, err error) {
	m, err = w.OnMachine(ctx, by, tag, "spare take", "", func(tx stock.Tx, m *stock.Machine) error {
		if err := m.MoveTo(registry.DoTake, tx.Action().At); err != nil {
			return err
		}
		took := m.TakesMains()
		if s, err = w.takePart(tx, m, part, place); err != nil {
			return err
		}
		return w.NothingLeft(ctx, tx, by, took, m)
	})
	return m, s, err
}

func (w *Spares) takePart(tx stock.Tx, m *stock.Machine, name, at string) (*Spare, error) {
	part, err := w.PartNamed(name)
	if err != nil {
		return nil, err
	}
	if part.Counted {
		return nil, registry.Errorf(registry.Invalid, "part %q is a small thing kept by quantity: count it",
			part.Part).On("part").
			Then(registry.Next(registry.DoCountSpares, "").With("part", part.Part))
	}
	if at, err = registry.CleanText("place", at, registry.MaxName); err != nil {
		return nil, err
	}
	if at, err = place.Read(tx, at); err != nil {
		return nil, err
	}
	if !part.Fits(m) {
		return nil, registry.Errorf(registry.Conflict, "%s has no %s: the list of parts says it is for %s",
			m.Tag, part.Part, limitsOf(part))
	}
	there, err := onIt(tx, m.Tag, part.Part)
	if err != nil {
		return nil, err
	}
	if !there {
		return nil, registry.Errorf(registry.Conflict, "%s has no %s any more, it was taken already", m.Tag,
			part.Part).On("part").Then(registry.Next(registry.DoListSpares, m.Tag))
	}
	a := tx.Action()
	s := &Spare{Part: part.Part, TakenFrom: m.Tag, Maker: m.Maker, Model: m.Model, TakenAt: a.At,
		TakenBy: a.By, Place: at}
	if part.carries() {
		if s.Failed, err = failedOn(tx, m, part.Part); err != nil {
			return nil, err
		}
	}
	m.MoveMains(mains.Off, mains.InSpare(part.Part)...)
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
func (w *Spares) FitSpare(ctx context.Context, by registry.Initials, tag registry.Tag,
	use PartUse) (m *stock.Machine, fitted string, err error) {
	m, err = w.OnMachine(ctx, by, tag, "spare fit", "", func(tx stock.Tx, m *stock.Machine) error {
		at := tx.Action().At
		if err := m.MoveTo(registry.DoFit, at); err != nil {
			return err
		}
		if fitted, err = w.fitPart(tx, m, use); err != nil {
			return err
		}
		part, err := w.PartNamed(use.Part)
		if err != nil {
			return err
		}
		return tx.Put(&bench.Work{Tag: tag, At: at, By: by, Did: "fit", Note: fitted,
			Electrical: bool(part.Electrical)})
	})
	return m, fitted, err
}

// fitPart puts one part in, off the shelf or bought, and says in words what it was.
func (w *Spares) fitPart(tx stock.Tx, m *stock.Machine, use PartUse) (string, error) {
	part, err := w.PartNamed(use.Part)
	if err != nil {
		return "", err
	}
	if use.From != "" && use.Bought {
		return "", registry.Errorf(registry.Invalid,
			"%s is both from the shelf and bought: leave one of them out", part.Part).On("from")
	}
	if !part.Fits(m) {
		return "", registry.Errorf(registry.Conflict,
			"%s does not fit %s: the list of parts says it is for %s", part.Part, m.Tag, limitsOf(part))
	}
	if bool(part.Electrical) {
		m.CancelSafety()
	} else if m.TakesMains() {
		m.PauseSafety()
	}
	m.MoveMains(mains.Fitted, mains.InSpare(part.Part)...)
	if bool(part.Electrical) && !m.TakesMains() {
		m.MoveMains(mains.Unknown, "cord") // a bulb is in a lamp, whatever was said of the machine
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
	if err := tx.All(&needs, stock.Fields{"tag": m.Tag, "part": part.Part, "met": false}); err != nil {
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

func (w *Spares) fitReal(tx stock.Tx, m *stock.Machine, part PartKind, use PartUse) (string, error) {
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
	if s.Failed != "" {
		return fmt.Sprintf("%s %s, %s", part.Part, s.Code(), s.Came()), nil
	}
	return fmt.Sprintf("%s %s from %s", part.Part, s.Code(), s.TakenFrom), nil
}

// onShelf finds the parts of a kind that lie there: neither in a machine nor out of the house.
func onShelf(r stock.Reader, part string) (free []Spare, err error) {
	err = r.All(&free, stock.Fields{"part": part, "fitted_to": "", "left_at": ""})
	return free, err
}

// shelf finds the part to use: the one named, or the one that lay there longest.
func shelf(r stock.Reader, part PartKind, code string) (*Spare, error) {
	if code == "" {
		free, err := onShelf(r, part.Part)
		if err != nil {
			return nil, err
		}
		if len(free) == 0 {
			return nil, registry.Errorf(registry.Conflict,
				"no %s is on the shelf: take one off another machine, or say that it was bought",
				part.Part).On("part").
				Then(registry.Next(registry.DoTake, "").With("part", part.Part),
					registry.Next(registry.DoBought, "").With("part", part.Part))
		}
		return &free[0], nil
	}
	s, err := byCode(r, code)
	if err != nil {
		return nil, err
	}
	if s.Part != part.Part {
		return nil, registry.Errorf(registry.Conflict, "%s is a %s, not a %s", s.Code(), s.Part,
			part.Part).On("from").Then(registry.Next(registry.DoListSpares, ""))
	}
	return s, s.there("from", "fitted")
}

// byCode finds a part by its code.
func byCode(r stock.Reader, code string) (*Spare, error) {
	id, err := strconv.ParseInt(strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(code)), "S"), 10, 64)
	if err != nil || id < 1 {
		return nil, registry.Errorf(registry.Invalid,
			"part %q is no part's code: type S and its number, such as S17, as the list of spares shows it",
			code).
			On("from").Then(registry.Next(registry.DoListSpares, ""))
	}
	var s Spare
	if err := r.Get(&s, stock.Fields{"id": id}); err != nil {
		if registry.CodeOf(err) == registry.NotFound {
			return nil, registry.Errorf(registry.NotFound, "part S%d is not in this house",
				id).On("from").Then(registry.Next(registry.DoListSpares, ""))
		}
		return nil, err
	}
	return &s, nil
}

// there refuses, for a field, a part that is on the shelf no more.
func (s *Spare) there(field, done string) error {
	var err *registry.Error
	switch {
	case s.FittedTo != "":
		err = registry.Errorf(registry.Conflict, "%s is in %s already, and a part is %s once", s.Code(),
			s.FittedTo, done)
	case !s.LeftAt.IsZero():
		err = registry.Errorf(registry.Conflict, "%s has left the house already, and a part is %s once",
			s.Code(), done)
	default:
		return nil
	}
	return err.On(field).Then(registry.Next(registry.DoListSpares, ""))
}

// Shelf is what the house has in spares.
type Shelf struct {
	SpareShelf []Spare
	Supplies   []Supply
}

// Spares lists what is on the shelf, in the order of coming in.
func (w *Spares) SpareShelf(ctx context.Context) (shelf Shelf, err error) {
	shelf = Shelf{SpareShelf: []Spare{}, Supplies: []Supply{}}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if err := r.All(&shelf.SpareShelf, stock.Fields{"fitted_to": "", "left_at": ""}); err != nil {
			return err
		}
		return r.All(&shelf.Supplies, stock.Fields{})
	})
	return shelf, err
}

// PartsFor lists the parts on the house's list that fit this machine, as far as is known of it.
func (w *Spares) PartsFor(m *stock.Machine) ([]PartKind, error) {
	list, err := w.Lists.Parts()
	return slices.DeleteFunc(slices.Clone(list), func(p PartKind) bool { return !p.Fits(m) }), err
}

// LeftOn lists the parts that are still on a machine, by the house's list.
func (w *Spares) LeftOn(ctx context.Context, tag registry.Tag) (m *stock.Machine, left []PartKind,
	err error) {
	left = []PartKind{}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if m, err = stock.MachineByTag(r, tag); err != nil {
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

// Lacking names the parts that were taken off a head, not put back, and that its present drive needs, by the
// house's list of parts. A lamp is no part that a head stands still without.
func (w *Spares) Lacking(r stock.Reader, m *stock.Machine) (lacking []string, err error) {
	list, err := stock.Rows(w.Lists.Parts)
	if err != nil {
		return nil, err
	}
	var taken []stock.PartTaken
	if err := r.Standings(m.Tag, func(s *stock.Standing) error { taken = s.Taken; return nil }); err != nil {
		return nil, err
	}
	for _, t := range taken {
		i := slices.IndexFunc(list, func(p PartKind) bool { return p.Part == t.Part })
		if t.Left() <= 0 && t.Part != "lamp" && (i < 0 || list[i].Fits(m)) {
			lacking = append(lacking, t.Part)
		}
	}
	return lacking, nil
}
