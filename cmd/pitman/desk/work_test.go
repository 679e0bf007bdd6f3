package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/offers"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// A machine's page offers what the table of moves allows at its stage, no more and no less, and it all fits
// on the screen.
func TestPageOffersTheAllowedMoves(t *testing.T) {
	s := sit(t, "QX")
	for _, stage := range registry.Stages {
		m := &stock.Machine{Tag: "PM16", Stage: stage, Drive: registry.Electric, Condition: "x", Donor: "y",
			Note: "z"}
		m.HeldFrom, m.UnsafeWhy = registry.Check, "earth"
		var allowed []string
		for _, move := range registry.Moves {
			// What a failed safety test holds is not let go on: a new pass or the bench ends it.
			if move.Unit == "machine" && slices.Contains(move.From, stage) && move.Action != "release" {
				allowed = append(allowed, move.Action)
			}
		}
		items := s.d.actions(m)
		for _, st := range offers.HeadSteps() {
			may := len(st.Actions) == 0 ||
				slices.ContainsFunc(st.Actions, func(a string) bool { return slices.Contains(allowed, a) })
			shown := slices.ContainsFunc(items, func(it item) bool { return it.label == st.Label })
			require.Equal(t, may, shown, "%s at %s", st.Label, stage)
		}
		s.d.stack = []screen{&home{}, &machine{tag: m.Tag, m: m, menu: menu{items: items}}}
		for _, it := range items {
			s.sees(it.label)
		}
	}
}

// What is not for such a machine has no key; what only waits for something has one, and says for what.
func TestPageOffersWhatSuitsTheMachine(t *testing.T) {
	s := sit(t, "QX")
	for name, c := range map[string]struct {
		m    stock.Machine
		want string // keys of the moves, in the order of the page
	}{
		"by hand, to be tested": {stock.Machine{Stage: registry.Check, Drive: registry.Hand}, "tbnvpsxh"},
		"electric, no pass yet": {stock.Machine{Stage: registry.Check, Drive: registry.Electric},
			"tebnvpsxh"},
		"held by a person": {stock.Machine{Stage: registry.Held, Drive: registry.Hand,
			Gates: stock.Gates{HeldFrom: registry.Check}}, "ngpsx"},
		"held by a failed safety test": {stock.Machine{Stage: registry.Held, Drive: registry.Electric,
			Gates: stock.Gates{UnsafeWhy: "earth"}}, "ebnpsx"},
		"old, so looked at twice first": {stock.Machine{Stage: registry.Logged, Drive: registry.Hand,
			To: new(1890)}, "rvpsxh"},
		"handed over": {stock.Machine{Stage: registry.Logged,
			Origin: stock.Origin{HandedTo: "Eldwray"}}, ""},
	} {
		c.m.Tag = "PM16"
		got := ""
		for _, it := range s.d.actions(&c.m) {
			if !strings.ContainsRune("aiomcu", it.key) {
				got += string(it.key)
			}
		}
		require.Equal(t, c.want, got, name)
	}
}

// toCheck brings a machine to its tests, with MB at the bench.
func (s *seat) toCheck(m *stock.Machine) {
	s.Helper()
	ctx := context.Background()
	_, err := s.d.Triage(ctx, "MB", m.Tag, "refurbish", "complete", "")
	require.NoError(s, err)
	_, err = s.d.BenchStart(ctx, "MB", m.Tag, bench.WorkNote{})
	require.NoError(s, err)
	_, err = s.d.BenchFinish(ctx, "MB", m.Tag, bench.WorkNote{})
	require.NoError(s, err)
	s.d.message = ""
}

// points gives the house a short list of test points.
func (s *seat) points(rows ...string) {
	s.Helper()
	require.NoError(s, os.MkdirAll(filepath.Join(s.dir, "lists"), 0o700))
	for i, row := range rows {
		rows[i] += strings.Repeat(",", max(4-strings.Count(row, ","), 0))
	}
	text := "point,ask,drive,measured,may_lack\n" + strings.Join(rows, "\n") + "\n"
	require.NoError(s, os.WriteFile(filepath.Join(s.dir, "lists", "points.csv"), []byte(text), 0o600))
	config := filepath.Join(s.dir, "house.toml")
	decided, err := os.ReadFile(config)
	require.NoError(s, err)
	decided = append(decided, "\n[test]\nwithout_points = [\"all\"]\n"...)
	require.NoError(s, os.WriteFile(config, decided, 0o600))
	s.restart(s.d.by)
}

// The aim: a passing machine takes at most four keys after the scan. Measured points are left out of it.
func TestPassingTakesFourKeys(t *testing.T) {
	s := sit(t, "QX")
	s.points("turns,Does it turn?,any,", "tension,Do the discs hold?,any,",
		"motor,Does the motor run?,electric,")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	s.scan(string(m.Tag)).sees("test how it sews")
	s.keys = 0
	s.press("t").sees("Test "+string(m.Tag)+": still QX?").press("Enter").sees("1 of 2", "Does it turn?",
		"fingers, hair and sleeves")
	s.press("a").sees("2 points answered, 0 with a fault", "records the pass").press("Enter").sees("Passed.",
		"Scan the next one", "1 done today")
	require.LessOrEqual(t, s.keys, 4)
	require.Equal(t, registry.Ready, s.machine(m.Tag).Stage)
	require.Equal(t, registry.Initials("QX"), s.machine(m.Tag).TestedBy)
}

func TestPointsOneAfterAnother(t *testing.T) {
	s := sit(t, "QX")
	s.points("turns,Does it turn?,any,", "tension,Do the discs hold?,any,",
		"stitch-length,Is the stitch right?,any,stitch", "winder,Does it wind?,any,")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	s.press("t").sees("Test which machine?", string(m.Tag), "check").press("1", "Enter").sees("1 of 4")
	s.press("y").sees("2 of 4").press("n").sees("The fault, not the person").press("Enter").sees("Say in a few words").press("loops below", "Enter")
	s.sees("3 of 4", "tension: loops below")
	// A measured point is measured, whatever key is pressed.
	s.press("a").sees("Sew beside a ruler", "Dial says").press("2.5", "Enter", "50mm", "Enter", "x",
		"Backspace", "0", "Enter").
		sees(`stitches "0" is not a count`)
	s.press("Backspace", "20", "Enter").sees("Other settings").press("4", "Enter").
		sees("not a setting, a length and a count").press(" = 50 / 12; r 2.5 = 50/20", "Enter").
		sees("4 points answered, 1 with a fault", "stitch length: 2.50 mm",
			"stitch length in reverse: 2.50 mm",
			"goes back to the bench")
	// Esc goes back a point; leaving the test keeps it.
	s.press("Esc").sees("4 of 4").press("Esc", "Esc", "Esc", "Esc").sees(string(m.Tag) + "   Harrow")
	s.press("t", "Enter").sees("You had begun this test", "1 of 4")
	s.press("y", "n").sees("loops below").press("Enter", "y", "2.5", "Enter", "50", "Enter", "20", "Enter",
		"Enter", "y", "Enter")
	s.sees("Back to the bench with its faults", "to mend: tension, loops below", "being worked on")
	require.Equal(t, registry.Bench, s.machine(m.Tag).Stage)
}

func TestWhatAMachineDoesWithoutIsSaid(t *testing.T) {
	s := sit(t, "QX")
	s.points("turns,Does it turn?,any,", "reverse,Does it sew backwards?,any,,yes")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	s.press("t", "1",
		"Enter").sees("1 of 2").misses("does not apply").press("x").sees("Every such machine has it")
	s.press("y").sees("does not apply: say why").press("x", "Enter").sees("made without one")
	s.press("lever without reverse", "Enter").sees("n/a     reverse: lever without reverse", "0 with a fault")
	// Going back keeps the reason at hand, and another answer takes its place.
	s.press("Esc", "x").sees("lever without reverse").press("Enter", "Enter").sees("Passed.")
	require.Equal(t, registry.Ready, s.machine(m.Tag).Stage)
}

func TestSomeoneElseTests(t *testing.T) {
	s := sit(t, "MB")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	s.scan(string(m.Tag)).press("t", "Enter").sees("MB worked on " + string(m.Tag))
	s.press("t").sees("still MB?").press("Esc").sees(string(m.Tag) + "   Harrow")
	// The question before the test is the moment to say that it is someone else.
	s.press("t").sees("still MB?").press("qx", "Enter", "Enter").sees("1 of ", "QX ·")
}

func TestNoPowerBeforeSafety(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B9", registry.Electric)
	s.toCheck(m)
	s.scan(string(m.Tag)).sees(registry.DoNotPlugIn).press("t", "Enter").sees(registry.DoNotPlugIn,
		"has no safety pass")
	require.Equal(t, registry.Check, s.machine(m.Tag).Stage)
	s.press("e", "Enter").sees("not on the house's list of competent people")

	s.d.Config.Safety.Competent = []string{"QX"}
	s.press("e", "Enter").sees("A competent person decides", registry.CautionMains.Text()[:30], "Cord whole")
	for range electrical.VisualPoints() {
		s.press("y")
	}
	s.sees("Which class is it?").press("1").sees("Is it carried about?").press("p").
		sees("Has it circuit boards?").press("y").sees("Has it surge protection?").press("n").sees("Earth")
	s.press("0.1", "Enter").misses("pass: limit").press("2", "Enter", "0.75", "Enter").
		sees("pass: limit at most 0.152 Ω", "Plug type").press("Enter").sees("Plug type is still empty")
	s.press("G", "Enter", "y", "3", "Enter").sees("a 500 V test can destroy them",
		"which voltage").press("5").sees("a 500 V test can destroy them", "switch on").press("n").
		sees("insulation needs the switch on").press("y", "20", "Enter").
		sees("pass: limit at least 1 MΩ", "Live from here").press("0.3", "Enter").
		sees("pass: limit at most 0.75 mA")
	s.press("220-240", "Enter", "50", "Enter", "85", "Enter",
		"b").sees("records this test")
	s.press("Enter").sees("Every point passed, recorded by QX", "earth",
		"limit at most").press("Esc").misses(registry.DoNotPlugIn)
	s.press("t", "Enter").sees("1 of ")
}

func TestFailedLookHoldsTheMachine(t *testing.T) {
	s := sit(t, "QX")
	s.d.Config.Safety.Competent = []string{"QX"}
	m := s.add("Ostermann", "B9", registry.Electric)
	s.scan(string(m.Tag)).press("e", "Enter", "n", "cut near the plug", "Enter")
	for range len(electrical.VisualPoints()) - 1 {
		s.press("y")
	}
	s.press("2").sees("records this test").press("Enter").sees("Held.", "cut near the plug")
	require.Equal(t, registry.Held, s.machine(m.Tag).Stage)
	s.press("Esc").sees("held: ", "bench: start work on it", registry.FailedSafety)
}

func TestThroughTheWorkshop(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.press("d").sees("Decide about which machine?", string(m.Tag)).press("1", "r", "comp", "Down",
		"Enter").sees("is now queued: waits for a bench")
	s.press("n").sees("it needs a part").press("win", "Enter").sees("waits for: winder-tyre")
	s.press("b").sees("Oily rags").press("Enter").sees("being worked on")
	s.press("w", "cle", "Enter", "30", "Enter", "Enter").sees("Noted.")
	s.press("f").sees("fit a part").press("win", "Enter", "b").sees("Fitted: ")
	s.press("d", "Enter", "Enter", "Enter").sees("is now check")
	s.press("h", "waiting for a p", "Down", "Enter").sees("held: waiting for a part").press("g",
		"Enter").sees("is now check")
	s.press("m").sees("by the handwheel").press("bay 9", "Enter").sees("stands at bay 9", "at bay 9")
	s.press("u").press("Enter").sees("Undone: move by QX").misses("at bay 9")
	s.press("v", "t").sees("Why").press("Enter", "Enter").sees("treadle", "waits for its tests")
	// An old machine: someone else looks, too.
	s.press("x").sees("The house looks twice at old machines").press("broken",
		"Enter", "Enter").sees("Second look by").press("qx",
		"Enter").sees("scraps PM16: it is thrown away").press("Enter").sees("same person")
	s.press("Backspace", "Backspace", "mb", "Enter", "Enter").sees("is now scrapped")
	require.Equal(t, registry.Scrapped, s.machine(m.Tag).Stage)
	s.press("p", "spares left", "Enter", "mb", "Enter",
		"Enter").sees("gives its parts").press("k").sees("take a part off")
	s.press("Enter").sees("Part is still empty").press("Down", "Enter", "box 2", "Enter").sees("is spare S",
		"write S")
	s.press("Esc", "Esc", "s").sees("On the shelf", "box 2").press("c", "nee", "Enter", "24",
		"Enter").sees("24     needle")
	s.press("v", "s1", "Enter", "5", "Enter").sees("S1 from PM16 left").misses("box 2")
}

func TestHalfAFormIsKept(t *testing.T) {
	s := sit(t, "QX")
	one, two := s.add("Harrow & Finch", "K7", registry.Hand), s.add("Ostermann", "B9", registry.Treadle)
	s.scan(string(one.Tag)).press("h", "waiting for a l").scan(string(two.Tag)).sees(string(two.Tag) +
		"   Ostermann")
	s.press("Esc").sees("Why            waiting for a l").press("Esc", "h").sees("You had begun this",
		"waiting for a l")
	s.press("amp", "Enter").sees("held: waiting for a lamp")
	// What was taken out again is not kept.
	s.press("m", "ba", "Esc", "m").sees("New place      ba").press("Backspace", "Backspace", "Esc",
		"m").misses("New place      ba", "You had begun this")
}

func TestUndoMine(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter", "K1", "Enter", "h", "Enter").sees("PM16", "1 done today").press("Esc", "u").
		sees("Undo what QX did last", "It is this: log, by QX, 2031-05-04 09:30: PM16")
	// Another desk, the same person: what was not shown is not undone.
	_, err := s.d.Move(s.d.ctx, "QX", []registry.Tag{"PM16"}, "bay 1")
	require.NoError(t, err)
	s.press("Enter").sees("QX did move meanwhile").press("Esc",
		"u").sees("It is this: move, by QX").press("Enter").sees("Undone: move, PM16").press("u")
	s.press("Enter").sees("Undone: log, PM16",
		"0 done today").press("u").press("Enter").sees("QX has done nothing here")
}

func TestWorklistPage(t *testing.T) {
	s := sit(t, "QX")
	s.press("n").sees("Nothing waits").press("Esc")
	a, b := s.add("Harrow & Finch", "K7", registry.Hand), s.add("Ostermann", "B9", registry.Treadle)
	s.toCheck(b)
	s.now = s.now.Add(time.Minute)
	s.press("n").sees(string(a.Tag)+" triage", string(b.Tag)+
		" function test").press("t").misses(string(a.Tag) + " triage").press("Enter")
	s.sees(string(b.Tag)+"   Ostermann").press("Esc", "Esc").sees("Next: " + string(b.Tag) + " function test")
}

func TestLabel(t *testing.T) {
	s := sit(t, "QX")
	s.d = New(s.d.ctx, s.d.Workshop, s.dir, "QX",
		Outside{Label: func(by registry.Initials, tag registry.Tag) (string, error) {
			return fmt.Sprintf("%s printed %s", by, tag), nil
		}})
	s.sees("What would you like to do?", "label: print one")
	s.press("l", "har", "Enter", "K1", "Enter", "h", "Enter",
		"a").sees("QX printed PM16").press("Esc").scan("PM16").press("a").sees("QX printed PM16")
	s.press("Esc", "Esc").sees("What would you like to do?")
}

func TestSlowWorklistWaitsForAQuietMoment(t *testing.T) {
	s := sit(t, "QX")
	s.d.looked = time.Second
	s.press("l", "har", "Enter", "K1", "Enter", "h",
		"Enter").misses("Next:").wait(quiet).sees("Next: PM16 triage")
}

// What was seen before others worked on a machine says nothing of it now.
func TestHalfATestGrowsStale(t *testing.T) {
	s := sit(t, "QX")
	s.points("turns,Does it turn?,any,", "tension,Do the discs hold?,any,", "crank,Is the crank firm?,hand,")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	mend := func() {
		_, err := s.d.BenchStart(s.d.ctx, "MB", m.Tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = s.d.BenchFinish(s.d.ctx, "MB", m.Tag, bench.WorkNote{})
		require.NoError(t, err)
	}
	s.scan(string(m.Tag)).press("t", "Enter", "y").scan(string(m.Tag)).press("t",
		"Enter").sees("it goes on where you were", "2 of 3")
	s.scan(string(m.Tag))
	mend()
	s.press("t", "Enter").sees("Others worked on "+string(m.Tag),
		"1 of 3").press("a").sees("3 points answered")
	mend()
	s.press("Enter").sees("Others worked on "+string(m.Tag), "1 of 3").press("y").scan(string(m.Tag))
	_, err := s.d.Convert(s.d.ctx, "MB", m.Tag, spares.Conversion{To: registry.Treadle})
	require.NoError(t, err)
	s.press("Esc").sees("1 of 2").press("a", "Enter").sees("Passed.")
}

func TestMeasuredFiguresGrowStale(t *testing.T) {
	s := sit(t, "QX")
	s.d.Config.Safety.Competent = []string{"QX"}
	m := s.add("Ostermann", "B9", registry.Electric)
	measure := func() {
		t.Helper()
		s.scan(string(m.Tag)).press("e", "Enter").sees("Cord whole").misses("You had begun")
		for range electrical.VisualPoints() {
			s.press("y")
		}
		// The questions are more than the screen holds; what must not be overlooked stays in sight.
		s.press("2", "n", "n", "Enter", "a", "n/a", "Enter", "y", "88", "Enter", "0.05", "Enter").
			sees("Plate: volts", registry.DoNotPlugIn)
	}
	measure()
	s.scan(string(m.Tag)).press("e", "Enter").sees("You had begun this", "Leakage        0.05").press("Esc")
	_, err := s.d.Triage(s.d.ctx, "MB", m.Tag, "refurbish", "complete", "")
	require.NoError(t, err)
	measure()
	s.press("220-240", "Enter", "50", "Enter", "85", "Enter",
		"b").sees("records this test")
	_, err = s.d.BenchStart(s.d.ctx, "MB", m.Tag, bench.WorkNote{})
	require.NoError(t, err)
	s.press("Enter").sees("others did something to "+string(m.Tag), "measure again")
	require.Zero(t, s.machine(m.Tag).SafetyAt)
	measure()
}

// What the last page promises is what is recorded.
func TestAStitchOffItsDialIsAFault(t *testing.T) {
	s := sit(t, "QX")
	s.points("turns,Does it turn?,any,", "stitch-length,Is the stitch right?,any,stitch")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	s.scan(string(m.Tag)).press("t", "Enter", "a", "2", "Enter", "50", "Enter", "19", "Enter", "Enter").
		sees("fault   stitch-length: 2.632 mm where the dial says 2 mm", "2 points answered, 1 with a fault",
			"goes back to the bench")
	// A point that was passed can still fail, and the other way round.
	s.press("Esc", "Esc", "n", "binds", "Enter", "y", "2.5", "Enter", "50", "Enter", "20", "Enter",
		"Enter").sees("turns: binds", "1 with a fault").press("Enter").
		sees("Back to the bench", "to mend: turns, binds").misses("stitch-length")
}

// What failed dead is never energised: the live part is not asked, and the fail is recorded as it stands.
func TestAFailedDeadReadingBarsTheLivePart(t *testing.T) {
	s := sit(t, "QX")
	s.d.Config.Safety.Competent = []string{"QX"}
	m := s.add("Ostermann", "B9", registry.Electric)
	looked := func() {
		t.Helper()
		s.scan(string(m.Tag)).press("e", "Enter")
		for range electrical.VisualPoints() {
			s.press("Enter").press("y") // Enter is no answer
		}
	}
	looked()
	s.press("1", "p", "n", "n", "20", "Enter").sees("FAIL: limit at most 1.075 Ω",
		"Take down the other dead readings").
		press("n").sees("records this test").misses("Leakage")
	// Who goes back and reads again is asked on.
	s.press("Esc", "Esc", "Backspace", "Backspace", "0.1", "Enter").sees("Cord length").
		press("Esc", "Backspace", "Backspace", "Backspace", "20", "Enter", "y")
	s.press("G", "Enter", "n", "3", "Enter").sees("FAIL").sees("Was it?").
		press("y", "0.4", "Enter").sees("FAIL: limit at least 1 MΩ", "records this test").misses("Leakage")
	s.press("Enter").sees("Held.", "earth 20 Ω", "polarity reversed", "insulation 0.4 MΩ")
	require.Equal(t, registry.Held, s.machine(m.Tag).Stage)
	// A retest takes over plug and fuse by Enter alone, and nothing that is measured.
	s.press("Esc")
	looked()
	s.press("1", "p", "n", "n").press("Enter").sees("Earth is still empty").press("0.1",
		"Enter").press("Enter").
		sees("Cord length is still empty").press("2", "Enter", "0.75", "Enter").
		sees("if it is type G still").press("Enter", "y").sees("Enter alone: 3, as last time").press("Enter").
		sees("Fuse in plug   3")
}

func TestSafetySlipsAreRefusedAtOnce(t *testing.T) {
	s := sit(t, "QX")
	s.d.Config.Safety.Competent = []string{"QX"}
	s.d.Config.Safety.Instruments = []electrical.Instrument{{ID: "MT1", Calibrated: "2030-01-15",
		Due: "2031-01-15"}, {ID: "MT2", Calibrated: "2031-01-15"}}
	m := s.add("Ostermann", "B9", registry.Electric)
	s.scan(string(m.Tag)).press("e", "Enter")
	for range electrical.VisualPoints() {
		s.press("y")
	}
	s.press("2", "n", "n", "MT1", "Enter").sees("MT1 was due for calibration on 2031-01-15",
		"Instrument     MT1").press("Backspace", "2", "Enter")
	s.press("C", "Enter", "a", "n/a", "Enter", "y", "lots", "Enter").
		sees(`insulation "lots" is not a resistance`).press("Esc",
		"y").press("Backspace", "Backspace", "Backspace", "Backspace")
	// A plug that is corrected is not held against the polarity of the old one, which is asked again.
	s.press("Esc", "Esc", "Esc", "Esc", "Backspace", "G",
		"Enter").sees("Polarity").press("a").sees("fits one way round only").press("y").sees("Fuse in plug")
}

// Where the house says so, and nothing of the mains was touched, a look alone gives the pass back.
func TestALookAloneAtTheDesk(t *testing.T) {
	s := sit(t, "QX")
	s.d.Config.Safety.Competent = []string{"QX"}
	s.d.Config.Safety.VisualRevives = true
	m := s.add("Ostermann", "B9", registry.Electric)
	s.toCheck(m)
	_, _, err := s.d.Safety(s.d.ctx, "QX", m.Tag, electrical.SafetyForm{Class: "II", Visual: "pass",
		Insulation: "20", SwitchOn: true, Leakage: "0.1", Polarity: "n/a", Plug: "C", Fuse: "n/a"})
	require.NoError(t, err)
	_, err = s.d.BenchStart(s.d.ctx, "RS", m.Tag, bench.WorkNote{})
	require.NoError(t, err)
	_, err = s.d.BenchFinish(s.d.ctx, "RS", m.Tag, bench.WorkNote{Jobs: []string{"oil"}})
	require.NoError(t, err)
	s.scan(string(m.Tag)).press("e", "Enter").sees("RS: start", bench.AskLookAlone).press("l")
	for range electrical.VisualPoints() {
		s.press("y")
	}
	s.sees("records this test").press("Enter").sees("stands again, as old as it is")
}
