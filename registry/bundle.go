package registry

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// A machine moves to another house with all that ever happened to it, and what it is now is what those changes replay to: so a house
// hands over histories, and nothing else. Two histories of one machine are compared change by change:
//
//	the house does not know the tag                    the machine is new here: the history is replayed
//	the house knows the beginning of the history       the other house went on with it: the rest is replayed
//	the house knows all of it, or more                 a repeat: nothing changes
//	each house has a change that the other has not     a clash: it is shown, and nothing of that machine is taken over
//
// An action keeps its time, its initials, and where it was done (Action.Origin).

// Carried is one machine or base on its way to another house.
type Carried struct {
	Subject string
	Actions []Action // whose changes follow
	Changes []Change // oldest first; Action and Ref are numbers of the house that it comes from
}

// Handing says which machines are handed over, and to whom. Without tags and place it is all of them.
type Handing struct {
	Tags  []Tag
	Place string
	To    string
}

// LeftBehind is a machine or base that was not handed over.
type LeftBehind struct {
	Tag Tag    `json:"tag"`
	Why string `json:"why"`
}

// HandOver notes that machines go to another house, and gives each with its history to carry. The machines stay in this house's registry.
func (w *Workshop) HandOver(ctx context.Context, by Initials, h Handing, carry func(*Carried) error) (left []LeftBehind, err error) {
	if h.To, err = cleanText("to", h.To, maxName); err != nil {
		return nil, err
	}
	if h.To == "" {
		return nil, Errorf(Invalid, "to is empty: give the name of the house that gets the machines")
	}
	err = w.act(ctx, by, "bundle out", "to "+h.To, func(tx Tx) error {
		tags := h.Tags
		if len(tags) == 0 {
			var err error
			if tags, err = unitsToHand(tx, h.Place); err != nil {
				return err
			}
		}
		for _, tag := range tags {
			u, err := unitByTag(tx, tag)
			if err != nil {
				return err
			}
			if why := u.stays(h.To); why != "" {
				if len(h.Tags) > 0 {
					return Errorf(Conflict, "%s cannot be handed over: %s", tag, why)
				}
				left = append(left, LeftBehind{tag, why})
				continue
			}
			if err := u.hand(tx, h.To); err != nil {
				return err
			}
			c, err := history(tx, string(tag))
			if err != nil {
				return err
			}
			if err := carry(c); err != nil {
				return err
			}
		}
		return h.nothing(len(tags), left)
	})
	return left, err
}

// nothing refuses a bundle without a machine, which could only take the place of one that has some.
func (h *Handing) nothing(found int, left []LeftBehind) error {
	switch {
	case found > len(left):
		return nil
	case found > 0:
		return Errorf(Conflict, "nothing can be handed over: %s of %d machines and bases: %s", left[0].Tag, found, left[0].Why)
	case h.Place != "":
		return Errorf(NotFound, "nothing is at place %q: give the place as pitman show prints it", h.Place)
	}
	return Errorf(NotFound, "there is no machine or base to hand over: log one first")
}

// unitsToHand lists the heads and bases at a place, or all; also those that went before, since a bundle can be written again.
func unitsToHand(r Reader, place string) (tags []Tag, err error) {
	err = r.Machines(MachineFilter{Place: place}, func(m *Machine) error {
		tags = append(tags, m.Tag)
		return nil
	})
	if err != nil {
		return nil, err
	}
	var b Base
	err = r.Each(&b, func() error {
		if place == "" || strings.EqualFold(b.Place, place) {
			tags = append(tags, b.Tag)
		}
		return nil
	})
	return tags, err
}

// stays says why a machine or base cannot be handed over, or nothing.
func (u Unit) stays(to string) string {
	switch {
	case u.Stage == Reserved || u.Stage == Packed:
		return fmt.Sprintf("it is %s for an order of this house; take it off the order first", u.Stage)
	case u.handedTo != "" && u.handedTo != to:
		return fmt.Sprintf("it was handed to %s already", u.handedTo)
	}
	return ""
}

// workedOnThere refuses work on what another house has.
func workedOnThere(tag Tag, house string) error {
	return Errorf(Conflict, "%s was handed to %s and is worked on there: what they do comes back with pitman bundle in", tag, house)
}

// history reads all that happened to a subject.
func history(r Reader, subject string) (*Carried, error) {
	c := &Carried{Subject: subject}
	seen := map[int64]bool{}
	err := r.Changes(subject, func(a *Action, change *Change) error {
		if !seen[a.ID] {
			seen[a.ID] = true
			c.Actions = append(c.Actions, *a)
		}
		c.Changes = append(c.Changes, *change)
		return nil
	})
	return c, err
}

const verbBundleIn = "bundle in"

// What becomes of a machine that another house hands over.
const (
	ComesNew   = "new"
	ComesSame  = "same"
	ComesMore  = "more" // it is known here, and its history goes on
	ComesClash = "clash"
)

// Arrived says what became of one machine or base.
type Arrived struct {
	Unit   string `json:"unit"` // machine or base
	Tag    Tag    `json:"tag"`
	Maker  string `json:"maker"`
	Serial string `json:"serial"`
	Does   string `json:"does"`
	Why    string `json:"why,omitempty"` // of a clash
}

// Receiving says how machines come in.
type Receiving struct {
	From    string // letters of the house that hands over
	Name    string // of the file, for the history
	Again   bool   // take a machine in although its maker and serial are here under another tag
	Preview bool   // only say what would happen
}

// TakeOver takes machines over from another house, in one transaction. next returns nil after the last one; its error undoes everything.
func (w *Workshop) TakeOver(ctx context.Context, by Initials, how Receiving, next func() (*Carried, error)) (arrived []Arrived, err error) {
	arrived = []Arrived{}
	run := func(r Reader, tx Tx) error {
		for {
			c, err := next()
			if c == nil || err != nil {
				return err
			}
			one, err := w.takeOver(r, tx, how, c)
			if err != nil {
				return err
			}
			arrived = append(arrived, one)
		}
	}
	if how.Preview {
		err = w.Store.View(ctx, func(r Reader) error { return run(r, nil) })
	} else {
		err = w.act(ctx, by, verbBundleIn, how.Name, func(tx Tx) error { return run(tx, tx) })
	}
	return arrived, err
}

func (w *Workshop) takeOver(r Reader, tx Tx, how Receiving, c *Carried) (Arrived, error) {
	tag, err := ParseTag(c.Subject)
	if err != nil {
		return Arrived{}, err
	}
	out := Arrived{Tag: tag}
	var m Machine
	m.Maker, m.Serial = c.text("maker"), c.text("serial")
	m.key()
	out.Unit, out.Maker, out.Serial = c.Changes[0].Kind, m.Maker, m.Serial
	clash := func(format string, args ...any) (Arrived, error) {
		out.Does, out.Why = ComesClash, fmt.Sprintf(format, args...)
		return out, nil
	}
	here, err := history(r, c.Subject)
	if err != nil {
		return out, err
	}
	refs, same := w.common(how.From, here, c)
	switch {
	case same == len(c.Changes):
		out.Does = ComesSame
		return out, nil
	case same < len(here.Changes):
		theirs, ours := c.action(c.Changes[same].Action), here.action(here.Changes[same].Action)
		return clash("both houses went on with it: here %s by %s on %s, there %s by %s on %s",
			ours.Verb, ours.By, ours.At.Format("2006-01-02"), theirs.Verb, theirs.By, theirs.At.Format("2006-01-02"))
	case same > 0:
		out.Does = ComesMore
	default:
		out.Does = ComesNew
		if how.From == w.Config.House.Letters {
			return clash("the other house has the letters %s, too, and may mean another machine: change letters in house.toml of one of them", how.From)
		}
		if err := w.mayTake(r, tag); err != nil {
			return out, err
		}
		found, err := twins(r, &m)
		if err != nil {
			return out, err
		}
		if len(found) > 0 && !how.Again {
			return clash("the same maker and serial are here as %s: if these are two machines, take it in with --again", found[0].Tag)
		}
	}
	if tx == nil {
		return out, nil
	}
	return out, w.replay(tx, how.From, c, same, refs)
}

// replay does again what the house does not know yet.
func (w *Workshop) replay(tx Tx, from string, c *Carried, known int, refs map[record]int64) error {
	actions := map[int64]int64{} // their number → ours
	for i := range c.Changes {
		change := c.Changes[i]
		id, ok := actions[change.Action]
		if !ok {
			a := *c.action(change.Action)
			a.Origin = origin(from, &a)
			a.ID = 0
			if letters, number, _ := strings.Cut(a.Origin, "/"); letters == w.Config.House.Letters {
				a.ID, _ = strconv.ParseInt(number, 10, 64) // Check has seen that it is a number
			}
			a.Undoes = actions[a.Undoes]
			var err error
			if id, err = tx.Adopt(&a); err != nil {
				return err
			}
			actions[change.Action] = id
		}
		if i < known {
			continue
		}
		name := record{change.Kind, change.Ref}
		change.Action, change.Ref, change.Subject = id, refs[name], c.Subject
		if err := tx.Replay(&change); err != nil {
			return err
		}
		refs[name] = change.Ref
	}
	u, err := unitByTag(tx, Tag(c.Subject))
	if err != nil {
		return Errorf(Invalid, "the history of %s in the bundle does not make a machine or base: ask for a new one", c.Subject)
	}
	if err := u.sound(); err != nil {
		return Errorf(Invalid, "%s in the bundle is wrong: %v", c.Subject, err)
	}
	if letters, n, _ := u.Tag.Parts(); letters == w.Config.House.Letters {
		if err := tx.NumberGiven(n); err != nil {
			return err
		}
	}
	return u.hand(tx, "")
}

// sound says what is wrong with a machine that was not made by the rules of this house.
func (m *Machine) sound() error {
	if _, err := ParseStage(string(m.Stage)); err != nil {
		return err
	}
	if _, err := ParseStitch(string(m.Stitch)); err != nil {
		return err
	}
	for _, f := range MachineFields {
		fresh := *m
		if err := f.Set(&fresh, f.Get(m)); err != nil {
			return err
		}
	}
	return m.Validate()
}

// sound says what is wrong with a base that was not made by the rules of this house.
func (b *Base) sound() error {
	if _, err := ParseStage(string(b.Stage)); err != nil {
		return err
	}
	for _, f := range BaseFields {
		fresh := *b
		if err := f.Set(&fresh, f.Get(b)); err != nil {
			return err
		}
	}
	return nil
}

// record names a record by its kind and number.
type record struct {
	kind string
	ref  int64
}

// common counts how many changes two histories have in common from the beginning, and pairs the records that they speak of.
func (w *Workshop) common(from string, here, there *Carried) (refs map[record]int64, n int) {
	refs = map[record]int64{}
	for n < len(here.Changes) && n < len(there.Changes) {
		a, b := &here.Changes[n], &there.Changes[n]
		ours, theirs := here.action(a.Action), there.action(b.Action)
		name := record{b.Kind, b.Ref}
		ref, known := refs[name]
		if a.Kind != b.Kind || known && ref != a.Ref || ours.Verb != theirs.Verb || ours.By != theirs.By || !ours.At.Equal(theirs.At) ||
			origin(w.Config.House.Letters, ours) != origin(from, theirs) || !reflect.DeepEqual(a.Fields, b.Fields) {
			break
		}
		refs[name] = a.Ref
		n++
	}
	return refs, n
}

// origin is where an action was done, with its number there. from are the letters of the house that tells of it.
func origin(from string, a *Action) string {
	if a.Origin != "" {
		return a.Origin
	}
	return from + "/" + strconv.FormatInt(a.ID, 10)
}

// action finds an action of the history by its number.
func (c *Carried) action(id int64) *Action {
	i := slices.IndexFunc(c.Actions, func(a Action) bool { return a.ID == id })
	if i < 0 {
		return &Action{}
	}
	return &c.Actions[i]
}

// text is the last value of one of the machine's fields.
func (c *Carried) text(field string) string {
	for i := len(c.Changes) - 1; i >= 0; i-- {
		if v, ok := c.Changes[i].Fields[field]; ok && c.Changes[i].Kind == c.Changes[0].Kind {
			s, _ := v[1].(string)
			return s
		}
	}
	return ""
}

// Check refuses a history that no house wrote: it may come from a file that anybody can have made.
func (c *Carried) Check() error {
	if len(c.Changes) == 0 {
		return Errorf(Invalid, "the bundle has no history for %q: ask for a new one", c.Subject)
	}
	known := map[int64]bool{}
	for _, a := range c.Actions {
		by, err := ParseInitials(string(a.By))
		if err != nil || by != a.By {
			return Errorf(Invalid, "the bundle has an action by %q: ask for a new one", a.By)
		}
		for _, text := range []struct{ name, value string }{{"action", a.Verb}, {"why", a.Why}} {
			if clean, err := cleanText(text.name, text.value, maxNote); err != nil || clean != text.value {
				return Errorf(Invalid, "the bundle has the %s %.60q: ask for a new one", text.name, text.value)
			}
		}
		if a.Origin != "" {
			letters, number, _ := strings.Cut(a.Origin, "/")
			if n, err := strconv.ParseInt(number, 10, 64); CheckLetters(letters) != nil || err != nil || n < 1 {
				return Errorf(Invalid, "the bundle has an action done in %.40q: ask for a new one", a.Origin)
			}
		}
		known[a.ID] = true
	}
	for _, change := range c.Changes {
		if !known[change.Action] {
			return Errorf(Invalid, "the bundle has a change of %s without the action that made it: ask for a new one", c.Subject)
		}
		for name, values := range change.Fields {
			for _, v := range values {
				if s, ok := v.(string); ok {
					if _, err := cleanText(name, s, maxCarried); err != nil {
						return err
					}
				}
			}
		}
	}
	return nil
}

// maxCarried is the longest stored text that is taken over; lists and forms are longer than notes.
const maxCarried = 20_000
