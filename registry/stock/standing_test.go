package stock_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/stock"
)

// Each claim beside records that prove it, and beside records that do not. The rules are those of the
// handbook: ready comes after the tests, a reservation stands on an order, a base in stock has its needed
// parts, a hold has a reason.
func TestFaultsOfAUnit(t *testing.T) {
	at := time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
	pass := func(drive registry.Drive) *stock.TestSeen {
		return &stock.TestSeen{At: at, By: "RS", Pass: true,
			Drive: drive}
	}
	ready := func(drive registry.Drive, change func(*stock.Standing)) stock.Standing {
		s := stock.Standing{Unit: registry.UnitMachine, Tag: "PM16", Stage: registry.Ready, Drive: drive,
			TestedAt: at, TestedBy: "RS", Tested: pass(drive)}
		if drive == registry.Electric {
			s.SafetyAt, s.SafetyBy, s.Safe = at, "RS", pass("")
		}
		if change != nil {
			change(&s)
		}
		return s
	}
	// promised lost its pass, and this was done for its place
	promised := func(done ...string) stock.Standing {
		return ready(registry.Electric, func(s *stock.Standing) {
			s.Stage, s.Orders, s.SafetyAt, s.WorkDone = registry.Reserved, []string{"ORD1"}, time.Time{}, done
		})
	}
	base := func(change func(*stock.Standing)) stock.Standing {
		s := stock.Standing{Unit: registry.UnitBase, Tag: "PM24", Stage: registry.Ready,
			Parts: registry.List[string]{"legs", "wheel"}, Top: stock.TopFixed}
		if change != nil {
			change(&s)
		}
		return s
	}
	needed := []stock.BasePart{{Part: "legs", Needed: true}, {Part: "wheel", Needed: true}, {Part: "drawer"}}
	for name, c := range map[string]struct {
		s    stock.Standing
		want []string
	}{
		"fresh": {stock.Standing{Unit: registry.UnitMachine, Stage: registry.Logged,
			Drive: registry.Electric}, nil},
		"ready by hand":   {ready(registry.Hand, nil), nil},
		"ready, electric": {ready(registry.Electric, nil), nil},
		"ready, never tested": {ready(registry.Hand,
			func(s *stock.Standing) { s.TestedAt, s.Tested = time.Time{}, nil }),
			[]string{"is ready without a function test that stands"}},
		"no record": {ready(registry.Hand, func(s *stock.Standing) { s.Tested = nil }),
			[]string{"and no function test is recorded"}},
		"by another": {ready(registry.Hand, func(s *stock.Standing) { s.Tested.By = "QX" }),
			[]string{"its last function test is another, under hand drive, of 2031-05-04 by QX"}},
		"on another day": {ready(registry.Hand,
			func(s *stock.Standing) { s.Tested.At = at.AddDate(0, 0, 1) }),
			[]string{"of 2031-05-05 by RS"}},
		"under another drive": {ready(registry.Hand,
			func(s *stock.Standing) { s.Tested.Drive = registry.Treadle }),
			[]string{"is another, under treadle drive"}},
		"failed since": {ready(registry.Hand, func(s *stock.Standing) { s.Tested.Pass = false }),
			[]string{"its last function test, of 2031-05-04 by RS, failed"}},
		"claimed on the bench": {ready(registry.Hand,
			func(s *stock.Standing) { s.Stage, s.Tested = registry.Bench, nil }),
			[]string{"and no function test is recorded"}},
		"shipped, never tested": {ready(registry.Treadle,
			func(s *stock.Standing) { s.Stage, s.TestedAt = registry.Shipped, time.Time{} }),
			[]string{"is shipped without a function test that stands"}},
		"no safety pass": {ready(registry.Electric, func(s *stock.Standing) { s.SafetyAt = time.Time{} }),
			[]string{"is electric and ready without a safety pass"}},
		"its plug changed for its order":   {promised("wood", registry.SkillElectrical), nil},
		"its head worked on for its order": {promised(registry.SkillBench), nil},
		"only its base worked on": {promised("wood"),
			[]string{"is electric and reserved without a safety pass"}},
		"packed after its plug was changed": {func() stock.Standing {
			s := promised(registry.SkillElectrical)
			s.Stage = registry.Packed
			return s
		}(), []string{"is electric and packed without a safety pass"}},
		"no safety record": {ready(registry.Electric, func(s *stock.Standing) { s.Safe = nil }),
			[]string{"claims a safety pass of 2031-05-04 by RS, and no safety test is recorded"}},
		"a hand machine needs none": {ready(registry.Hand,
			func(s *stock.Standing) { s.SafetyAt = time.Time{} }),
			nil},
		"unsafe and ready": {ready(registry.Hand, func(s *stock.Standing) { s.UnsafeWhy = "cord" }),
			[]string{"failed its safety test (cord), and is ready, not held"}},
		"held by a failed safety test": {ready(registry.Electric, func(s *stock.Standing) {
			s.Stage, s.HeldFrom, s.UnsafeWhy, s.SafetyAt = registry.Held, registry.Ready, "cord", time.Time{}
			s.Safe.Pass = false
		}), nil},
		"held by a person without its pass": {ready(registry.Electric, func(s *stock.Standing) {
			s.Stage, s.HeldFrom, s.HeldWhy, s.SafetyAt = registry.Held, registry.Ready, "a lamp", time.Time{}
		}), []string{"is electric and held from ready without a safety pass"}},
		"held for nothing": {ready(registry.Hand,
			func(s *stock.Standing) { s.Stage, s.HeldFrom = registry.Held, registry.Ready }),
			[]string{"is held without a reason"}},
		"held from nowhere": {ready(registry.Hand,
			func(s *stock.Standing) { s.Stage, s.HeldWhy = registry.Held, "a lamp" }),
			[]string{`is held from "", where nothing is held`}},
		"reserved": {ready(registry.Hand,
			func(s *stock.Standing) { s.Stage, s.Orders = registry.Reserved, []string{"ORD1"} }), nil},
		"shipped here": {ready(registry.Hand,
			func(s *stock.Standing) { s.Stage, s.Orders = registry.Shipped, []string{"ORD1"} }), nil},
		"shipped elsewhere": {ready(registry.Hand, func(s *stock.Standing) { s.Stage = registry.Shipped }),
			nil},
		"gone before, by a list": {stock.Standing{Unit: registry.UnitMachine, Tag: "PM16",
			Stage: registry.Shipped,
			Drive: registry.Electric, MovedIn: "by a list"}, nil},
		"in stock by a list": {stock.Standing{Unit: registry.UnitMachine, Tag: "PM16", Stage: registry.Ready,
			Drive: registry.Electric, MovedIn: "by a list"}, []string{
			"is electric and ready without a safety pass", "is ready without a function test that stands"}},
		"packed for nobody": {ready(registry.Hand, func(s *stock.Standing) { s.Stage = registry.Packed }),
			[]string{"is packed, and no order has it"}},
		"promised and ready": {ready(registry.Hand, func(s *stock.Standing) { s.Orders = []string{"ORD1"} }),
			[]string{"is promised to ORD1, but is ready"}},
		"promised twice": {ready(registry.Hand,
			func(s *stock.Standing) { s.Stage, s.Orders = registry.Reserved, []string{"ORD1", "ORD2"} }),
			[]string{"is promised twice: to ORD1 and ORD2"}},
		"taken once": {ready(registry.Hand,
			func(s *stock.Standing) { s.Taken = []stock.PartTaken{{"needle-bar", 1, 0}} }), nil},
		"taken, put in again": {ready(registry.Hand,
			func(s *stock.Standing) { s.Taken = []stock.PartTaken{{"needle-bar", 2, 1}} }), nil},
		"taken too often": {ready(registry.Hand,
			func(s *stock.Standing) { s.Taken = []stock.PartTaken{{"needle-bar", 3, 1}} }),
			[]string{"its needle-bar was taken off it 3 times, and it had 2"}},

		"a whole base": {base(nil), nil},
		"a base, no wheel": {base(func(s *stock.Standing) { s.Parts = s.Parts[:1] }),
			[]string{"is ready and lacks wheel"}},
		"a base that waits": {base(func(s *stock.Standing) { s.Parts, s.Stage = nil, registry.Logged }), nil},
		"a base for nobody": {base(func(s *stock.Standing) { s.Stage = registry.Reserved }),
			[]string{"is reserved, and no order has it"}},
		"a base held unsaid": {base(func(s *stock.Standing) {
			s.Stage, s.HeldFrom = registry.Held,
				registry.Logged
		}), []string{"is held without a reason"}},
	} {
		t.Run(name, func(t *testing.T) {
			faults := c.s.Faults(needed)
			if assert.Len(t, faults, len(c.want), "%v", faults) {
				for i, f := range faults {
					assert.Contains(t, f.What, c.want[i])
					assert.NotEmpty(t, f.Mend)
					assert.NotEmpty(t, f.Check)
					assert.NotEmpty(t, f.Next, "whoever reads it is told what to do")
				}
			}
		})
	}
}

// A fault names the steps that mend it, and of those only what the table of moves allows where the unit
// stands: a packed machine cannot be held.
func TestFaultsNameTheStepThatMends(t *testing.T) {
	untested := func(at registry.Stage) stock.Standing {
		s := stock.Standing{Unit: registry.UnitMachine, Tag: "PM16", Stage: at, Drive: registry.Hand}
		if at == registry.Reserved || at == registry.Packed {
			s.Orders = []string{"ORD1"}
		}
		return s
	}
	promised := func(at registry.Stage, orders ...string) stock.Standing {
		return stock.Standing{Unit: registry.UnitBase, Tag: "PM24", Stage: at, Orders: orders}
	}
	for name, c := range map[string]struct {
		s    stock.Standing
		want []registry.NextStep
	}{
		"untested and ready": {untested(registry.Ready), []registry.NextStep{
			registry.Next(registry.DoHold, "PM16"), registry.Next(registry.DoTestResult, "PM16")}},
		"untested and packed": {untested(registry.Packed), []registry.NextStep{
			registry.Next(registry.DoShow, "PM16")}},
		"no pass, held by a person": {stock.Standing{Unit: registry.UnitMachine, Tag: "PM16",
			Stage:    registry.Held,
			HeldFrom: registry.Bench, HeldWhy: "a lamp", Drive: registry.Electric,
			SafetyAt: time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)}, []registry.NextStep{
			registry.Next(registry.DoSafetyResult, "PM16")}},
		"promised twice": {promised(registry.Reserved, "ORD1", "ORD2"), []registry.NextStep{
			registry.Next(registry.DoUnreserve, "PM24").Of("ORD2")}},
		"packed twice": {promised(registry.Packed, "ORD1", "ORD2"), []registry.NextStep{
			registry.Next(registry.DoUnpack, "PM24").Of("ORD2")}},
		"reserved for nobody": {promised(registry.Reserved), []registry.NextStep{
			registry.Next(registry.DoHold, "PM24")}},
		"promised and logged": {promised(registry.Logged, "ORD1"), []registry.NextStep{
			registry.Next(registry.DoShowBase, "PM24").Of("ORD1")}},
	} {
		faults := c.s.Faults(nil)
		if assert.Len(t, faults, 1, name) {
			assert.Equal(t, c.want, faults[0].Next, name)
		}
	}
}
