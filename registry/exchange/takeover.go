package exchange

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/forget"
	"pitman/registry/intake"
	"pitman/registry/recall"
	"pitman/registry/stock"
)

// What becomes of a machine that another house hands over.
const (
	ArrivalNew       = "new"
	ArrivalUnchanged = "same"
	ArrivalContinued = "more" // it is known here, and its history goes on
	ArrivalClash     = "clash"
)

// Arrival says what became of one machine or base.
type Arrival struct {
	Unit   string              `json:"unit"` // machine or base
	Tag    registry.Tag        `json:"tag"`
	Maker  string              `json:"maker"`
	Serial string              `json:"serial"`
	Does   string              `json:"does"`
	Why    string              `json:"why,omitempty"` // of a clash
	Next   []registry.NextStep `json:"next,omitempty"`
}

// Receiving says how machines come in.
type Receiving struct {
	From    string // letters of the house that hands over
	Name    string // of the file, for the history
	Again   bool   // take a machine in although its maker and serial are here under another tag
	Preview bool   // only say what would happen, or be refused
	Stock   bool   // the bundle says that it only shows what stands there
	Signer  string // the key that signed the bundle; "" when nobody did, or nobody looked yet
}

// TakeOver takes machines and bases over from another house, in one transaction. next returns nil after the
// last one; its error undoes everything.
func (w *Exchange) TakeOver(ctx context.Context, by registry.Initials, how Receiving,
	next func() (*UnitHistory, error)) (arrived []Arrival, err error) {
	arrived = []Arrival{}
	if how.Stock {
		return nil, registry.Errorf(registry.Conflict,
			"the bundle only shows what stands in the house %s, and hands nothing over: keep it beside this "+
				"house's own stock, or ask for one that hands machines over", how.From).On("file").
			Then(registry.Next(registry.DoKeepHouse, ""))
	}
	run := func(tx stock.Tx) error {
		for {
			c, err := next()
			switch {
			case err != nil:
				return err
			case c == nil:
				return w.checkAfter(tx, arrived)
			}
			one, err := w.takeOver(tx, how, c)
			if err != nil {
				return err
			}
			arrived = append(arrived, one)
		}
	}
	if how.Preview {
		return arrived, w.rehearse(ctx, by, how.Name, run)
	}
	return arrived, w.Act(ctx, by, stock.VerbBundleIn, how.Name, run)
}

// checkAfter refuses a bundle after which the registry would not verify.
func (w *Exchange) checkAfter(tx stock.Tx, arrived []Arrival) error {
	needed, err := stock.Rows(w.Stock.Lists.BaseParts)
	if err != nil {
		return err
	}
	var changed []string
	for _, a := range arrived {
		if a.Does == ArrivalNew || a.Does == ArrivalContinued {
			changed = append(changed, string(a.Tag))
		}
	}
	if len(changed) == 0 {
		return nil
	}
	faults, err := tx.Faults(w.Stock.Config.House.Letters, needed, changed)
	if err != nil || len(faults) == 0 {
		return err
	}
	return registry.Errorf(registry.Conflict,
		"with the bundle the registry would have a fault, so nothing was taken over: %s: %s; ask for a new "+
			"one; or, if this house has that fault now, mend it first", faults[0].Subject, faults[0].What).
		Then(registry.Next(registry.DoVerify, ""))
}

// rehearse runs what would be done, so that every check is asked, and takes all of it back.
func (w *Exchange) rehearse(ctx context.Context, by registry.Initials, name string,
	run func(stock.Tx) error) error {
	rehearsed := errors.New("rehearsed")
	a := &registry.Action{At: w.Now().UTC(), By: by, Verb: stock.VerbBundleIn, Why: name}
	err := w.Store.Update(ctx, a, func(tx stock.Tx) error {
		if err := run(tx); err != nil {
			return err
		}
		return rehearsed
	})
	if errors.Is(err, rehearsed) {
		return nil
	}
	return err
}

func (w *Exchange) takeOver(tx stock.Tx, how Receiving, c *UnitHistory) (Arrival, error) {
	tag, err := registry.ParseTag(c.Subject)
	if err != nil {
		return Arrival{}, err
	}
	out := Arrival{Tag: tag}
	var m stock.Machine
	m.Maker, m.Serial = c.text("maker"), c.text("serial")
	m.Key()
	out.Unit, out.Maker, out.Serial = c.Changes[0].Kind, m.Maker, m.Serial
	clash := func(format string, args ...any) (Arrival, error) {
		out.Does, out.Why = ArrivalClash, fmt.Sprintf(format, args...)
		return out, nil
	}
	here, err := history(tx, c.Subject)
	if err != nil {
		return out, err
	}
	if len(here.Changes) > 0 {
		ours, theirs := here.done(w.Stock.Config.House.Letters), c.done(how.From)
		here.Changes = forget.Unless(theirs, ours, here.Changes)
		c.Changes = forget.Unless(ours, theirs, c.Changes)
	}
	refs, same := w.common(how.From, here, c)
	switch {
	case same == len(c.Changes):
		out.Does = ArrivalUnchanged
		return out, nil
	case same < len(here.Changes):
		theirs, ours := c.action(c.Changes[same].Action), here.action(here.Changes[same].Action)
		return clash("both houses went on with it: here %s by %s on %s, there %s by %s on %s",
			ours.Verb, ours.By, w.LocalDay(ours.At), theirs.Verb, theirs.By, w.LocalDay(theirs.At))
	case same > 0:
		out.Does = ArrivalContinued
	default:
		out.Does = ArrivalNew
		if how.From == w.Stock.Config.House.Letters {
			return clash("the other house has the letters %s, too, and may mean another machine: change "+
				"letters in house.toml of one of them", how.From)
		}
		if w.Intake.Beyond(tag) {
			return clash("its number is above %d, and this house gave none so high: log the machine here anew",
				intake.MaxNumber)
		}
		found, err := intake.Twins(tx, &m)
		if err != nil {
			return out, err
		}
		if len(found) > 0 && !how.Again {
			out.Next = []registry.NextStep{registry.Next(registry.DoTakeAgain, "")}
			return clash("the same maker and serial are here as %s: if these are two machines, take it in "+
				"again", found[0].Tag)
		}
	}
	if a := w.forgotten(how.From, c, same); a != nil {
		return clash("the bundle tells of %s by %s on %s as done in this house, which does not know of it",
			a.Verb, a.By, w.LocalDay(a.At))
	}
	if same > 0 {
		u, err := stock.UnitByTag(tx, tag)
		if err != nil {
			return out, err
		}
		if u.Workable() == nil {
			return clash("it is in this house, which did not hand it over, so nobody else can have gone on " +
				"with it")
		}
	}
	return out, w.replay(tx, how, c, same, refs)
}

// forgotten finds an action that was done in this house by what the bundle says, behind the changes that both
// know, which are all that this house has: it went on from an older backup since, or another house has its
// letters.
func (w *Exchange) forgotten(from string, c *UnitHistory, known int) *registry.Action {
	for _, change := range c.Changes[known:] {
		a := c.action(change.Action)
		if letters, _, _ := strings.Cut(origin(from, a), "/"); letters == w.Stock.Config.House.Letters {
			return a
		}
	}
	return nil
}

// replay does again what the house does not know yet.
func (w *Exchange) replay(tx stock.Tx, how Receiving, c *UnitHistory, known int,
	refs map[record]int64) error {
	from := how.From
	actions := map[int64]int64{} // their number → ours
	for i := range c.Changes {
		change := c.Changes[i]
		id, ok := actions[change.Action]
		if !ok {
			a := *c.action(change.Action)
			a.Origin = origin(from, &a)
			a.ID = 0
			if letters, number, _ := strings.Cut(a.Origin, "/"); letters == w.Stock.Config.House.Letters {
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
	u, err := stock.UnitByTag(tx, registry.Tag(c.Subject))
	if err != nil {
		return registry.Errorf(registry.Invalid,
			"the history of %s in the bundle does not make a machine or base: ask for a new one", c.Subject)
	}
	if err := u.CheckValues(); err != nil {
		return registry.Errorf(registry.Invalid, "%s in the bundle is wrong: %v", c.Subject, err)
	}
	if err := w.StageProven(tx, u.Tag); err != nil {
		if registry.CodeOf(err) == "" {
			return err
		}
		return registry.Errorf(registry.Invalid,
			"the bundle claims what its records do not prove: %v; nothing was taken over: ask the other "+
				"house to test it there, or to mend its registry", err)
	}
	if letters, n, _ := u.Tag.Parts(); letters == w.Stock.Config.House.Letters {
		if err := tx.NumberGiven(n); err != nil {
			return err
		}
	}
	if err := u.Hand(tx, ""); err != nil {
		return err
	}
	return w.foreignPass(tx, how, u.Tag, c, known)
}

// foreignPass cancels a safety pass that another house brings, unless this house counts those of that house:
// who is competent is for each house to say. One that was recorded here counts when the machine comes back as
// it went; whatever else was done to it there, nobody here saw it.
func (w *Exchange) foreignPass(tx stock.Tx, how Receiving, tag registry.Tag, c *UnitHistory,
	known int) error {
	m, err := stock.MachineByTag(tx, tag)
	if registry.CodeOf(err) == registry.NotFound {
		return nil // a base
	}
	if err != nil {
		return err
	}
	// what has left is judged no more, and what takes the mains is tested anyway
	if m.Stage != registry.Shipped && !m.TakesMains() && w.doubts(how, c, known) {
		m.DoubtMains()
	}
	if !m.SafetyAt.IsZero() && slices.ContainsFunc(c.Changes[known:], touches) {
		counts, err := w.passCounts(tx, how, m)
		if err != nil {
			return err
		}
		if m.SafetyKey = how.Signer; !counts {
			m.CancelSafety()
		}
	}
	m.ForgetPaused() // a look alone speaks for work that was done here, and nobody was away meanwhile
	if err := recall.Arrived(tx, m, w.LocalDay); err != nil {
		return err
	}
	m.Key() // by which twins are found, whatever the bundle says it is
	w.Settle(m, tx.Action().At)
	return tx.Put(m)
}

// passCounts says whether a pass counts that came in a bundle: it was recorded in the very house that signed
// the bundle, house.toml names the key of that, and by the limits of this house it would be one as well. What
// that house took over from a third is for that third to sign.
func (w *Exchange) passCounts(tx stock.Tx, how Receiving, m *stock.Machine) (bool, error) {
	rules := w.Stock.Config.Safety
	if how.Signer == "" || !slices.Contains(rules.PassesFrom, how.Signer) {
		return false, nil
	}
	test, err := bench.PassOf(tx, m)
	if err != nil || test == nil {
		return false, err
	}
	if looked, err := bench.LookedAlone(tx, m); err != nil || looked != nil && !rules.VisualRevives {
		return false, err
	}
	if ended, err := bench.Lapsed(tx, m, w.LocalDay); err != nil || ended != "" {
		return false, err
	}
	letters, err := bench.PassHouse(tx, m)
	return letters == how.From && rules.Outdated(test.Form, m.Plate) == "", err
}

// touches says of a change whether it tells of more than where the machine stood and who had it.
func touches(c registry.Change) bool {
	if c.Kind != registry.UnitMachine {
		return true
	}
	for name := range c.Fields {
		if !slices.Contains([]string{"handed_to", "place", "note"}, name) {
			return true
		}
	}
	return false
}

// record names a record by its kind and number.
type record struct {
	kind string
	ref  int64
}

// common counts how many changes two histories have in common from the beginning, and pairs the records that
// they speak of.
func (w *Exchange) common(from string, here, there *UnitHistory) (refs map[record]int64, n int) {
	refs = map[record]int64{}
	for n < len(here.Changes) && n < len(there.Changes) {
		a, b := &here.Changes[n], &there.Changes[n]
		ours, theirs := here.action(a.Action), there.action(b.Action)
		name := record{b.Kind, b.Ref}
		ref, known := refs[name]
		if a.Kind != b.Kind || known && ref != a.Ref || ours.Verb != theirs.Verb || ours.By != theirs.By ||
			!ours.At.Equal(theirs.At) ||
			origin(w.Stock.Config.House.Letters, ours) != origin(from, theirs) ||
			!forget.Same(a, b) {
			break
		}
		refs[name] = a.Ref
		n++
	}
	return refs, n
}
