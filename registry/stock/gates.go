package stock

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/mains"
)

// Suits refuses an action that is not for this machine as it stands, whatever else were there.
func (m *Machine) Suits(action string) error {
	if m.HandedTo != "" {
		return WorkedOnThere(m.Tag, m.HandedTo)
	}
	switch action {
	case registry.DoSafePass, registry.DoSafeClear, registry.DoSafeFail:
		if err := m.SafetyForDrive(); err != nil {
			return err
		}
	}
	switch {
	case action == registry.DoRelease && m.UnsafeWhy != "":
		return m.failedSafetyHold()
	case m.Stage != registry.Held || m.UnsafeWhy != "":
	case action == registry.DoBenchMend: // held for another reason
		return registry.RefuseMove(registry.UnitMachine, m.Tag, registry.DoBenchStart, m.Stage, m.HeldFrom)
	case action == registry.DoSafeClear:
		return registry.Errorf(registry.Conflict, "%s is held by no failed safety test: a pass leaves it held",
			m.Tag).Then(registry.Next(registry.DoSafePass, m.Tag))
	}
	_, err := m.Step(action)
	return err
}

// Gates is what the workshop's gates know of a machine, beside its stage. The tests themselves are kept
// apart, every one of them; here stands what of them still counts.
type Gates struct {
	HeldFrom registry.Stage `json:"held_from,omitempty" db:"held_from"`        // where it goes back to
	HeldWhy  string         `json:"held_why,omitempty" db:"held_why,personal"` // why a person holds it
	// a failed safety test holds it, whatever else does
	UnsafeWhy string            `json:"unsafe_why,omitempty" db:"unsafe_why,personal"`
	TestedAt  time.Time         `json:"tested_at,omitzero" db:"tested_at"` // the function test that stands
	TestedBy  registry.Initials `json:"tested_by,omitempty" db:"tested_by"`
	// the safety pass that stands; electrical work cancels it
	SafetyAt time.Time         `json:"safety_at,omitzero" db:"safety_at"`
	SafetyBy registry.Initials `json:"safety_by,omitempty" db:"safety_by"`
	// the key of the house that signed for a pass from elsewhere; "" for one of this house
	SafetyKey string `json:"safety_key,omitempty" db:"safety_key"`
	// the pass that work on no mains part ended: where the house says so, a look alone gives it back
	PausedAt time.Time         `json:"paused_at,omitzero" db:"paused_at"`
	PausedBy registry.Initials `json:"paused_by,omitempty" db:"paused_by"`
	// I, II, none, unknown; empty = nobody looked yet
	Class string               `json:"class,omitempty" db:"class"`
	Plate electrical.Nameplate `json:"nameplate" db:"plate,json"`
	// what was said of the parts that carry the mains
	Mains mains.Parts `json:"mains" db:"mains,json"`
	// what an old list told of a machine that moved in with it; it speaks for the stage until that changes
	MovedIn string `json:"moved_in,omitempty" db:"moved_in"`
	// what its slip says of one that was sold untested
	SoldAs string `json:"sold_as,omitempty" db:"sold_as"`

	// Who took a second look before an old machine went a way that has no return.
	HeritageSeenBy registry.Initials `json:"heritage_seen_by,omitempty" db:"heritage_seen_by"`
}

// Step says where an action of the table of moves leads this machine, or refuses it.
func (m *Machine) Step(action string) (registry.Stage, error) {
	to, err := registry.Step(registry.UnitMachine, m.Tag, action, m.Stage, m.HeldFrom)
	if err != nil && m.UnsafeWhy != "" {
		err = m.failedSafetyHold()
	}
	return to, err
}

// failedSafetyHold says what ends a hold that a failed safety test put on the machine.
func (m *Machine) failedSafetyHold() error {
	test := "failed safety test"
	if m.UnderPower() {
		test = "function test under power"
	}
	return registry.Errorf(registry.Conflict,
		"%s is held by a %s (%s): it is mended on the bench, or a competent person records a new pass",
		m.Tag, test, strings.TrimPrefix(m.UnsafeWhy, underPower)).Then(registry.Next(registry.DoBenchMend, m.Tag),
		registry.Next(registry.DoSafetyResult, m.Tag))
}

// MoveTo does one action of the table of moves to a machine within a transaction; the caller puts it.
func (m *Machine) MoveTo(action string, at time.Time) error {
	to, err := m.Step(action)
	if err != nil {
		return err
	}
	if to == m.Stage {
		return nil
	}
	if m.Stage == registry.Held {
		m.HeldFrom, m.HeldWhy, m.UnsafeWhy = "", "", ""
	}
	if to == registry.Held {
		m.HeldFrom = m.Stage
	}
	m.Stage, m.StageSince, m.MovedIn = to, at, ""
	return nil
}

// CancelTest cancels the function test: the machine was worked on, or is no longer what was tested.
func (m *Machine) CancelTest() { m.TestedAt, m.TestedBy = time.Time{}, "" }

// CancelSafety cancels the safety pass for good: its wiring was worked on, or something failed.
func (m *Machine) CancelSafety() {
	m.SafetyAt, m.SafetyBy, m.SafetyKey = time.Time{}, "", ""
	m.ForgetPaused()
}

// ForgetPaused lets no look alone give back a pass of before.
func (m *Machine) ForgetPaused() { m.PausedAt, m.PausedBy = time.Time{}, "" }

// PauseSafety cancels the pass because of work that touched nothing of the mains, and remembers one of here.
func (m *Machine) PauseSafety() {
	at, by := m.PausedAt, m.PausedBy
	if !m.SafetyAt.IsZero() && m.SafetyKey == "" {
		at, by = m.SafetyAt, m.SafetyBy
	}
	m.CancelSafety()
	m.PausedAt, m.PausedBy = at, by
}

// SafetyStands says whether a safety pass counts at this time. Electrical work cancels a pass at once, so a
// pass that is still there is newer than the last of it; only its age is left to ask. One that lies ahead of
// the clock would never grow old: either clock was wrong, so it counts for nothing.
func (w *Stock) SafetyStands(m *Machine) bool {
	if m.SafetyAt.IsZero() || w.aheadOfClock(m) || w.Disowned(m) {
		return false
	}
	days := w.Config.Safety.ValidDays
	return days == 0 || w.judged().Before(m.SafetyAt.AddDate(0, 0, days))
}

// LacksSafetyPass says whether something on it takes the mains and no safety pass counts at this time: nobody
// plugs it in, and it leaves for nobody.
func (w *Stock) LacksSafetyPass(m *Machine) bool { return m.TakesMains() && !w.SafetyStands(m) }

// aheadOfClock leaves a day for the clocks of two houses to differ.
func (w *Stock) aheadOfClock(m *Machine) bool { return m.SafetyAt.After(w.Now().Add(ClockSlack)) }

// Disowned says whether its pass came from a house whose passes count here no longer.
func (w *Stock) Disowned(m *Machine) bool {
	return m.SafetyKey != "" && !slices.Contains(w.Config.Safety.PassesFrom, m.SafetyKey)
}

// Warnings are the sentences that stand on every screen of this machine.
func (w *Stock) Warnings(m *Machine) (warnings []string) {
	if w.LacksSafetyPass(m) {
		said := registry.DoNotPlugIn
		switch {
		case m.UnderPower():
			said = registry.HeldUnsafe
		case m.UnsafeWhy != "":
			said = registry.FailedSafety
		}
		warnings = append(warnings, said)
	}
	if m.Contradicted() {
		warnings = append(warnings, ContradictedYear)
	}
	return warnings
}

// underPower begins what a machine did in its function test that holds it.
const underPower = "function test under power: "

// UnsafeUnderPower holds it for what it did in its function test, which is no safety test.
func (m *Machine) UnsafeUnderPower(faults string) { m.UnsafeWhy = underPower + faults }

// UnderPower says whether that is what holds it.
func (m *Machine) UnderPower() bool { return strings.HasPrefix(m.UnsafeWhy, underPower) }

// Unsafe says what holds it as unsafe, and where that was found; nothing if nothing does.
func (m *Machine) Unsafe() string {
	if m.UnsafeWhy == "" || m.UnderPower() {
		return m.UnsafeWhy
	}
	return "failed safety test: " + m.UnsafeWhy
}

// Held says all that holds it; nothing if nothing does.
func (m *Machine) Held() string {
	if m.HeldWhy == "" || m.UnsafeWhy == "" {
		return m.HeldWhy + m.Unsafe()
	}
	return m.HeldWhy + "; " + m.Unsafe()
}

// SafetyGate refuses what needs a standing pass, and names what supplies it.
func (w *Stock) SafetyGate(m *Machine, action string) error {
	if !w.LacksSafetyPass(m) {
		return nil
	}
	why := "has no safety pass"
	if !m.SafetyAt.IsZero() {
		fault := "is too old"
		switch {
		case w.aheadOfClock(m):
			fault = "lies ahead of this computer's clock"
		case w.Disowned(m):
			fault = "came from a house whose passes count here no longer"
		}
		why = fmt.Sprintf("has a safety pass of %s that %s",
			m.SafetyAt.In(w.Location()).Format(time.DateOnly), fault)
	}
	return registry.Errorf(registry.Conflict,
		"%s %s and %s, so %s has to wait (%s): a competent person records one",
		m.Tag, m.takes(), why, action, registry.DoNotPlugIn).Then(registry.Next(registry.DoSafePass, m.Tag))
}

// takes says why the mains bear on it.
func (m *Machine) takes() string {
	if m.electric() {
		return "is electric"
	}
	return "has " + mainsSaid(m.MainsOn())
}

// HeritageGate asks for a second look before a machine that is old, or probably is, goes a way that the house
// names.
func (w *Stock) HeritageGate(m *Machine, to registry.Stage, by, seenBy registry.Initials) error {
	if seenBy != "" {
		m.HeritageSeenBy = seenBy
	}
	limit := w.Config.Heritage
	if !w.SecondLook(m, to) {
		return nil
	}
	if seenBy == "" {
		return registry.Errorf(registry.Conflict,
			"%s is %s years old, and the house looks twice at %d before a machine is %s: let someone who "+
				"knows old machines see it, and give that person's initials",
			m.Tag, w.agedWords(m), limit.Years,
			map[registry.Stage]string{registry.Parts: "stripped for parts", registry.Scrapped: "scrapped",
				registry.Sold: "sold", registry.Shipped: "shipped"}[to]).On("heritage-seen-by")
	}
	if seenBy == by {
		return registry.Errorf(registry.Conflict,
			"heritage-seen-by %s is the same person as who acts: a second look is someone else's, type "+
				"that person's initials", seenBy).
			On("heritage-seen-by")
	}
	return nil
}

// SecondLook says whether the house asks for a second look before this machine goes that way: it is old
// enough for certain, by the latest year that remains, or it probably is.
func (w *Stock) SecondLook(m *Machine, to registry.Stage) bool {
	limit := w.Config.Heritage
	old := func(year *int) bool { return year != nil && w.ThisYear()-*year >= limit.Years }
	return limit.Years > 0 && slices.Contains(limit.Asked, to) && (old(m.To) || old(m.probably()))
}

// LooksTwice asks for that look before anything is done.
func (m *Machine) LooksTwice() string {
	return fmt.Sprintf("%s is old (%s). The house looks twice at old machines: ask someone who knows them.",
		m.Tag, m.Year())
}

// probably is the year in which the machine was most likely made; nil when nobody can tell.
func (m *Machine) probably() *int {
	switch {
	case m.Likely != nil:
		return m.Likely
	case m.Best != nil: // dated before likelihoods were kept
		return m.Best
	case m.From != nil && m.To != nil:
		middle := (*m.From + *m.To) / 2
		return &middle
	}
	return nil
}

// agedWords is how many years old the machine is, at least or probably.
func (w *Stock) agedWords(m *Machine) string {
	if m.To != nil && w.ThisYear()-*m.To >= w.Config.Heritage.Years {
		return fmt.Sprintf("at least %d", w.ThisYear()-*m.To)
	}
	return fmt.Sprintf("probably about %d", w.ThisYear()-*m.probably())
}

// Workable reads a machine that is worked on in this house; another is returned beside the refusal.
func Workable(r Reader, tag registry.Tag) (*Machine, error) {
	m, err := MachineByTag(r, tag)
	if err == nil && m.HandedTo != "" {
		err = WorkedOnThere(tag, m.HandedTo)
	}
	return m, err
}

// OnMachine runs one action on one machine: read it, let the rule change it, save it.
func (w *Stock) OnMachine(ctx context.Context, by registry.Initials, tag registry.Tag, verb, why string,
	rule func(Tx, *Machine) error) (m *Machine, err error) {
	err = w.Act(ctx, by, verb, why, func(tx Tx) error {
		if m, err = Workable(tx, tag); err != nil {
			return err
		}
		was := *m
		if err := rule(tx, m); err != nil {
			return w.ToldOf(tx, tag, verb, was.Stage, err)
		}
		if err := w.LeaveOrder(tx, &was, m, ""); err != nil {
			return err
		}
		return tx.Put(m)
	})
	return m, err
}

// ToldOf is a refusal as it is told of a unit at a stage: of what is promised, with what its order lets be
// done.
func (w *Stock) ToldOf(r Reader, tag registry.Tag, verb string, at registry.Stage, refused error) error {
	if w.Instead == nil || !promised(at, "") {
		return refused
	}
	return w.Instead(r, tag, verb, refused)
}

// promised says whether a unit at a stage fills a place, or is held and goes back to one.
func promised(stage, heldFrom registry.Stage) bool {
	if stage == registry.Held {
		stage = heldFrom
	}
	return stage == registry.Reserved || stage == registry.Packed
}

// LeaveOrder frees the place of a machine that was promised, packed or not, and after a change is so no
// longer: it stands as far as its tests allow from now on. The machine says why where nobody else does, and
// is the caller's to put.
func (w *Stock) LeaveOrder(tx Tx, was, m *Machine, why string) error {
	held := m.Stage == registry.Held && was.Stage != registry.Held
	stays := m.Stage == registry.Shipped || promised(m.Stage, m.HeldFrom) && !held
	if !promised(was.Stage, was.HeldFrom) || stays {
		return nil
	}
	if err := w.Freed(tx, m.Tag, cmp.Or(why, m.outWhy())); err != nil {
		return err
	}
	if promised(m.Stage, m.HeldFrom) { // held, and it does not go back to its place
		m.HeldFrom = registry.Ready
	}
	if m.Stage != was.Stage {
		m.StageSince = tx.Action().At
	}
	w.Settle(m, tx.Action().At) // its plug may have been changed for the order, and not tested since
	return nil
}

// outWhy is why a machine that was promised can go no longer.
func (m *Machine) outWhy() string {
	switch {
	case m.UnsafeWhy != "":
		return m.Unsafe()
	case m.HeldWhy != "":
		return "held: " + m.HeldWhy
	case m.Stage == registry.Check:
		return "it is electric after all"
	}
	return "back at the bench"
}

// WorkedOnThere refuses work on what another house has.
func WorkedOnThere(tag registry.Tag, house string) error {
	return registry.Errorf(registry.Conflict,
		"%s was handed to %s and is worked on there: what they do comes back in a bundle", tag, house).
		On("tag").Then(registry.Next(registry.DoTakeOver, ""))
}

// SafetyForDrive refuses a safety test of what has nothing on it that takes the mains.
func (m *Machine) SafetyForDrive() error {
	if !m.TakesMains() {
		return registry.Errorf(registry.Conflict,
			"%s has %s drive: a safety test is for what takes the mains; if it has a motor or a lamp, say so",
			m.Tag, m.Drive).
			On("drive").Then(registry.Next(registry.DoAmend, m.Tag).With("drive", "electric"))
	}
	return nil
}

// Competent refuses what only the people on the house's list may do.
func (w *Stock) Competent(by registry.Initials, what string) error {
	if by.In(w.Config.Safety.Competent) {
		return nil
	}
	listed, ask := "nobody is on it yet", ""
	if people := w.Config.Safety.Competent; len(people) > 0 {
		listed, ask = "on it: "+strings.Join(people, ", "), "ask one of them; "
	}
	return registry.Errorf(registry.Conflict,
		"%s is not on the house's list of competent people, who alone may %s (%s): %sthe house puts them "+
			"in house.toml under [safety] competent, as local codes ask",
		by, what, listed, ask)
}

// PlugTold refuses a pass of what has no plug, by all that is recorded: nobody switched it on.
func (m *Machine) PlugTold(form electrical.SafetyForm) error {
	state := m.Mains.Of("plug", true)
	if form.Plug != "" || form.Class == "III" || state != mains.Off && state != mains.Never {
		return nil
	}
	said := map[mains.State]string{mains.Off: "was taken off", mains.Never: "was never there"}[state]
	return registry.Errorf(registry.Conflict,
		"plug is missing: that of %s %s, by what is recorded, and nothing is measured live without one; type "+
			"the letter of the one that is on it now", m.Tag, said).On("plug")
}

// SettleSafety moves the machine as the result asks.
func (m *Machine) SettleSafety(result electrical.SafetyResult, by registry.Initials, at time.Time) error {
	if result.Form.Plug != "" && result.Form.Class != "III" { // whoever read its letter had it in hand
		m.Mains = m.Mains.Set("plug", mains.Fitted).Set("cord", mains.Fitted)
	}
	if !result.Pass {
		m.CancelSafety()
		for point := range result.Form.VisualFaults {
			if slices.Contains(mains.Kinds, point) {
				m.Mains = m.Mains.Set(point, mains.Failed)
			}
		}
		if err := m.MoveTo(registry.DoSafeFail, at); err != nil {
			return err
		}
		m.UnsafeWhy = result.Hold
		return nil
	}
	m.CancelSafety() // one that was paused, too
	m.SafetyAt, m.SafetyBy = at, by
	m.Mains = m.Mains.Look(m.electric())
	if m.Class == "III" { // what takes the mains in its stead was looked at
		m.Mains = m.Mains.Set("adapter", mains.Fitted)
	}
	action := registry.DoSafePass
	if m.UnsafeWhy != "" && m.HeldWhy == "" {
		action = registry.DoSafeClear
	}
	m.UnsafeWhy = ""
	return m.MoveTo(action, at)
}
