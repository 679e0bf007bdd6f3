package stock

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/mains"
)

// Standing is a head or base as it claims to stand, beside what the other records of the house show of it.
// The rule that weighs one against the other is Faults, and nothing else: what comes in asks it, and so does
// the check of a whole house. A rule that needs to see more of the records gets a field here and the store
// fills it.
type Standing struct {
	Unit      string // machine or base
	Tag       registry.Tag
	Stage     registry.Stage
	HeldFrom  registry.Stage
	HeldWhy   string
	UnsafeWhy string

	// Of a machine: what it says of its tests.
	Drive    registry.Drive
	TestedAt time.Time
	TestedBy registry.Initials
	SafetyAt time.Time
	SafetyBy registry.Initials
	Mains    mains.Parts
	MovedIn  string

	// Of a machine: what the records show.
	Tested   *TestSeen   // its last function test; nil when there is none
	Safe     *TestSeen   // its last safety test
	Taken    []PartTaken // parts that were taken off it
	WorkDone []string    // the skills of the jobs that were done for the place that it stands on

	// Of a base.
	Parts registry.List[string]
	Top   Top

	Orders []string // that have a place with it, one for each place
}

// TestSeen is what a record of a test shows, short of its points and figures.
type TestSeen struct {
	At    time.Time
	By    registry.Initials
	Pass  bool
	Drive registry.Drive // of a function test
}

// PartTaken counts a part that was taken off a machine, and those that were put in as one more.
type PartTaken struct {
	Part   string
	Taken  int
	Fitted int
}

// Left is how many of the part the machine still has: it came with one.
func (p PartTaken) Left() int { return 1 + p.Fitted - p.Taken }

// The checks that a fault of a unit stands under.
const (
	checkSafety = "safety"
	checkOrders = "orders"
	checkParts  = "parts"
	checkHolds  = "holds"
	checkSpares = "spares"
)

// What mends a stage that the records do not prove.
const (
	mendTest  = "do not plug it in; hold it, then have the test made again and recorded"
	mendOrder = "see where it stands, then take it off its order, or match it again"
	mendParts = "find what is missing and say that it is there; else correct its parts, and it leaves the " +
		"stock"
	mendHold   = "let it go on, and hold it again with the reason"
	mendSpares = "find out from its history which of them was written down by mistake, and undo that"
)

// resultOf is how the step to a test is named before anybody knows how it will end.
var resultOf = map[string]string{registry.DoSafePass: registry.DoSafetyResult,
	registry.DoTestPass: registry.DoTestResult}

// moves are the steps to mend a fault that the table of moves allows where the unit stands; where it allows
// none, somebody looks at it first.
func (s *Standing) moves(actions ...string) (next []registry.NextStep) {
	for _, action := range actions {
		if _, ok := registry.MoveOf(s.Unit, action, s.Stage); ok {
			next = append(next, registry.Next(cmp.Or(resultOf[action], action), s.Tag))
		}
	}
	if len(next) == 0 {
		next = []registry.NextStep{registry.Next(registry.DoShow, s.Tag)}
		if s.Unit == registry.UnitBase {
			next[0].Action = registry.DoShowBase
		}
	}
	return next
}

// at is the stage that it has, or goes back to: what is held from a stage claims all that the stage does.
func (s *Standing) at() registry.Stage {
	if s.Stage == registry.Held {
		return s.HeldFrom
	}
	return s.Stage
}

// Faults lists what a unit claims and its records do not prove. needed are the house's parts of a base.
func (s *Standing) Faults(needed []BasePart) []registry.Fault {
	faults := s.StageFaults(needed)
	for _, p := range s.Taken {
		if p.Left() < 0 {
			faults = append(faults,
				s.fault(checkSpares, mendSpares, []registry.NextStep{
					registry.Next(registry.DoListSpares, s.Tag), registry.Next(registry.DoUndo, s.Tag)},
					"its %s was taken off it %d times, and it had %d", p.Part,
					p.Taken, 1+p.Fitted))
		}
	}
	return faults
}

// StageFaults lists what the stage of a unit claims and its records do not prove. It is all that can be asked
// of a unit from another house: parts that went into it came off machines that stayed there.
func (s *Standing) StageFaults(needed []BasePart) []registry.Fault {
	faults := s.holdFaults()
	if s.Unit == registry.UnitMachine {
		faults = append(faults, s.testFaults()...)
	} else {
		faults = append(faults, s.partFaults(needed)...)
	}
	return append(faults, s.orderFaults()...)
}

func (s *Standing) fault(check, mend string, next []registry.NextStep, what string,
	args ...any) registry.Fault {
	return registry.Fault{Check: check, Subject: string(s.Tag), What: fmt.Sprintf(what, args...), Mend: mend,
		Next: next}
}

// testFault is one of a test, which is made again while the machine is held.
func (s *Standing) testFault(test, what string, args ...any) registry.Fault {
	return s.fault(checkSafety, mendTest, s.moves(registry.DoHold, test), what, args...)
}

// is says where it stands, for a sentence.
func (s *Standing) is() string {
	if s.Stage == registry.Held && s.HeldFrom != "" {
		return "held from " + string(s.HeldFrom)
	}
	return string(s.Stage)
}

// holdFaults looks for a hold that has no reason or no way back, and for a failed safety test that holds
// nothing.
func (s *Standing) holdFaults() (faults []registry.Fault) {
	if s.Stage != registry.Held {
		if s.UnsafeWhy != "" {
			faults = append(faults,
				s.testFault(registry.DoSafePass, "failed its safety test (%s), and is %s, not held",
					s.UnsafeWhy, s.Stage))
		}
		return faults
	}
	if !s.holdable() {
		faults = append(faults,
			s.fault(checkHolds, mendHold, []registry.NextStep{registry.Next(registry.DoUndo, s.Tag)},
				"is held from %q, where nothing is held", s.HeldFrom))
	}
	if registry.Blank(s.HeldWhy) && registry.Blank(s.UnsafeWhy) {
		faults = append(faults,
			s.fault(checkHolds, mendHold, s.moves(registry.DoRelease), "is held without a reason"))
	}
	return faults
}

// holdable says whether the table of moves leads from there to a hold.
func (s *Standing) holdable() bool {
	return slices.ContainsFunc(registry.Moves, func(m registry.Move) bool {
		return m.Unit == s.Unit && m.To == registry.Held && s.HeldFrom != registry.Held &&
			slices.Contains(m.From, s.HeldFrom)
	})
}

// tested are the stages that no machine comes to but through its tests.
var tested = []registry.Stage{registry.Ready, registry.Reserved, registry.Packed, registry.Shipped}

// testFaults holds what a machine says of its tests against the last of each that is recorded: a later one
// always takes the place of those before.
func (s *Standing) testFaults() (faults []registry.Fault) {
	passed := slices.Contains(tested, s.at())
	if s.MovedIn != "" && s.Stage == registry.Shipped {
		passed = false // it was gone before anything was recorded here, and no move leads back from there
	}
	switch {
	// One that a failed safety test holds has none, and that is why it is held.
	case s.SafetyAt.IsZero() && s.Stage == registry.Reserved && s.reworked():
	case s.SafetyAt.IsZero() && passed && s.takesMains() && !(s.Stage == registry.Held && s.UnsafeWhy != ""):
		faults = append(faults,
			s.testFault(registry.DoSafePass, "%s and %s without a safety pass", s.machine().takes(), s.is()))
	case s.SafetyAt.IsZero():
	case s.Safe == nil || !s.Safe.Pass || !s.Safe.At.Equal(s.SafetyAt) || s.Safe.By != s.SafetyBy:
		faults = append(faults, s.testFault(registry.DoSafePass, "claims a safety pass of %s by %s, and %s",
			day(s.SafetyAt), s.SafetyBy, s.Safe.shown("safety")))
	}
	switch {
	case s.TestedAt.IsZero() && passed:
		faults = append(faults,
			s.testFault(registry.DoTestPass, "is %s without a function test that stands", s.is()))
	case s.TestedAt.IsZero():
	case s.Tested == nil || !s.Tested.Pass || !s.Tested.At.Equal(s.TestedAt) || s.Tested.By != s.TestedBy ||
		s.Tested.Drive != s.Drive:
		faults = append(faults,
			s.testFault(registry.DoTestPass,
				"claims a function test passed under %s drive on %s by %s, and %s",
				s.Drive, day(s.TestedAt), s.TestedBy, s.Tested.shown("function")))
	}
	return faults
}

// reworked says that a job for the order that it is promised to ended its pass: it waits there to be tested
// again, and leaves no other way.
func (s *Standing) reworked() bool { return slices.ContainsFunc(s.WorkDone, registry.EndsPass) }

// machine is as much of it as the rules of the mains ask.
func (s *Standing) machine() *Machine { return &Machine{Drive: s.Drive, Gates: Gates{Mains: s.Mains}} }

func (s *Standing) takesMains() bool { return s.machine().TakesMains() }

func day(at time.Time) string { return at.UTC().Format(time.DateOnly) }

// shown says what the records show in place of the test that is claimed.
func (t *TestSeen) shown(kind string) string {
	switch {
	case t == nil:
		return "no " + kind + " test is recorded"
	case !t.Pass:
		return fmt.Sprintf("its last %s test, of %s by %s, failed", kind, day(t.At), t.By)
	case t.Drive != "":
		return fmt.Sprintf("its last %s test is another, under %s drive, of %s by %s", kind, t.Drive,
			day(t.At), t.By)
	}
	return fmt.Sprintf("its last %s test is another, of %s by %s", kind, day(t.At), t.By)
}

// partFaults looks for a base in stock that lacks a part without which none is ready.
func (s *Standing) partFaults(needed []BasePart) []registry.Fault {
	if !slices.Contains([]registry.Stage{registry.Ready, registry.Reserved, registry.Packed}, s.at()) {
		return nil
	}
	missing := (&Base{Parts: s.Parts, Top: s.Top}).lacks(needed)
	if len(missing) == 0 {
		return nil
	}
	return []registry.Fault{s.fault(checkParts, mendParts, []registry.NextStep{
		registry.Next(registry.DoAmendBase, s.Tag).Asking("parts")},
		"is %s and lacks %s, by what is recorded", s.is(),
		strings.Join(missing, ", "))}
}

// orderFaults looks for a unit that is promised twice, and for one whose stage and whose order do not agree.
// What was shipped by another house came without the order.
func (s *Standing) orderFaults() []registry.Fault {
	reserved := slices.Contains([]registry.Stage{registry.Reserved, registry.Packed}, s.at())
	fault := func(next []registry.NextStep, what string, args ...any) []registry.Fault {
		return []registry.Fault{s.fault(checkOrders, mendOrder, next, what, args...)}
	}
	// off one of its orders, as far as the table allows that here
	off := s.moves(registry.DoUnreserve, registry.DoUnpack)
	if len(s.Orders) > 0 {
		off[0] = off[0].Of(s.Orders[len(s.Orders)-1])
	}
	switch {
	case len(s.Orders) > 1:
		return fault(off, "is promised twice: to %s", strings.Join(s.Orders, " and "))
	case len(s.Orders) == 1 && !reserved && s.at() != registry.Shipped:
		return fault(off, "is promised to %s, but is %s", s.Orders[0], s.is())
	case len(s.Orders) == 0 && reserved:
		return fault(s.moves(registry.DoHold), "is %s, and no order has it", s.is())
	}
	return nil
}

// Standing is what a machine says of itself; its records are the reader's to add.
func (m *Machine) Standing() *Standing {
	return &Standing{Unit: registry.UnitMachine, Tag: m.Tag, Stage: m.Stage, HeldFrom: m.HeldFrom,
		HeldWhy: m.HeldWhy, UnsafeWhy: m.UnsafeWhy,
		Drive: m.Drive, TestedAt: m.TestedAt, TestedBy: m.TestedBy, SafetyAt: m.SafetyAt,
		SafetyBy: m.SafetyBy, Mains: m.Mains, MovedIn: m.MovedIn}
}

// StageProven refuses a unit in a transaction whose stage its records do not prove.
func (w *Stock) StageProven(r Reader, tag registry.Tag) error {
	needed, err := Rows(w.Lists.BaseParts)
	if err != nil {
		return err
	}
	return r.Standings(tag, func(s *Standing) error { return s.Refused(needed) })
}

// Refused turns faults of the stage into a refusal.
func (s *Standing) Refused(needed []BasePart) error {
	faults := s.StageFaults(needed)
	if len(faults) == 0 {
		return nil
	}
	said := make([]string, len(faults))
	for i, f := range faults {
		said[i] = f.What
	}
	return registry.Errorf(registry.Invalid, "%s %s", s.Tag, strings.Join(said, "; "))
}
