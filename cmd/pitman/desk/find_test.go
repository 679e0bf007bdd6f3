package desk

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

func TestFind(t *testing.T) {
	s := sit(t, "QX")
	var all []*stock.Machine
	for i := range 30 {
		all = append(all, s.add("Harrow & Finch", fmt.Sprintf("K2040%02d", i), registry.Hand))
	}
	only := s.add("Ostermann", "B77", registry.Treadle)
	s.press("f").sees("Find a machine").press("Enter").sees("Type something to look for first")
	s.press("b77", "Enter").sees(string(only.Tag) + "   Ostermann").press("Esc").sees("b77")
	for range "b77" {
		s.press("Backspace")
	}
	s.press("K2040", "Enter").sees("1   "+string(all[0].Tag), "9   "+string(all[8].Tag),
		"    "+string(all[9].Tag), "of 30   + further")
	// As many stand there as the screen holds, and every one can be reached: by the arrows, or pages further.
	s.press("+").misses("   "+string(all[0].Tag)).sees(string(all[14].Tag), "- back").press("+").
		sees(string(all[29].Tag)).misses("+ further").press("+").sees("These are the last.").
		press("-", "-").sees("1   " + string(all[0].Tag)).press("-").sees("These are the first.")
	for range 30 {
		s.press("Down")
	}
	s.press("Enter").sees(string(all[29].Tag) + "   Harrow").press("Esc")
	s.resize("UTF-8", 40, 14)
	s.sees(string(all[29].Tag), "- back").press("-", "-", "-", "-", "-", "-", "-", "-", "-", "-").sees("1   ")
	s.resize("UTF-8", 200, 50)
	s.sees("1   "+string(all[0].Tag), string(all[29].Tag)).misses("of 30")
	s.resize("UTF-8", 80, 24)
	s.sees("1   " + string(all[0].Tag))
	s.press("3").sees(string(all[2].Tag)+"   Harrow").press("Esc",
		"x").sees(`"x" does nothing here`).press("f", "Down", "Enter").
		sees(string(all[0].Tag) + "   Harrow")
	s.press("Esc", "f")
	for range "K2040" {
		s.press("Backspace")
	}
	s.press("nothing like that", "Enter").sees(`Nothing here has "nothing like that"`)
	for range "nothing like that" {
		s.press("Backspace")
	}
	s.press("PM99", "Enter").sees("was mistyped")
	for range "PM99" {
		s.press("Backspace")
	}
	s.press(string(only.Tag), "Enter").sees(string(only.Tag) + "   Ostermann")
}

// A list of machines says which of them must not be plugged in, and a capital letter does what a small one
// does.
func TestFoundMachinesAreWarnedOf(t *testing.T) {
	s := sit(t, "QX")
	s.add("Ostermann", "B77", registry.Hand)
	m := s.add("Ostermann", "B78", registry.Electric)
	s.press("f", "ost", "Enter").sees(registry.DoNotPlugIn+": "+string(m.Tag)).press("F",
		"Backspace").sees("Look for   os\n")
}

// What is not ready for a job is shown instead, with what comes first.
func TestJobOnTheWrongMachine(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B77", registry.Treadle)
	s.press("t").sees("Test which machine?").scan(string(m.Tag)).sees("is not ready for that",
		"r   refurbish it")
}

func TestReasonInOneLine(t *testing.T) {
	s := sit(t, "QX")
	for serial, want := range map[string]string{
		"K20417":       "1896 · table row K18001–K41000: 1896 (own.csv:3)",
		"K?100":        "",
		"Z1":           "year unknown",
		stock.NoSerial: "year unknown",
		"KA?1":         "1921 · table row KA1–KA50000: 1921 (own.csv:4)",
	} {
		answer, err := s.d.Date(&stock.Machine{Maker: "Harrow & Finch", Serial: serial})
		require.NoError(t, err)
		got := reason(answer)
		if want == "" {
			require.Contains(t, got, "would settle the year best")
			continue
		}
		require.Contains(t, got, want)
	}
}

func TestDraftThrownAway(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter", "K1")
	s.wait(pause).restart("QX")
	s.sees("You had begun to log a machine").press("x").sees("Thrown away", "What would you like to do?")
	s.restart("QX")
	s.misses("You had begun")
}

func TestReportBack(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B77", registry.Treadle)
	reportBack(s.d, m)
	s.sees("what the training centre says").press("cracked lid", "Enter", "Enter",
		"Enter").sees("is at stage logged")
}

func TestFoundListIsLookedUpAgain(t *testing.T) {
	s := sit(t, "QX")
	s.add("Harrow & Finch", "K7", registry.Hand)
	s.add("Harrow & Finch", "K8", registry.Hand)
	s.press("f", "harrow", "Enter", "1", "m", "bay 9", "Enter",
		"Esc").sees("K7          logged    bay 9").press("2").sees("serial K8")
}

// Whatever may have a safety test is offered under its key, at each stage of the table of moves and
// whatever it is called; what has nothing on it that takes the mains is not. What a failed safety test
// holds is for the bench.
func TestJobsListWhatTheyAreFor(t *testing.T) {
	s := sit(t, "QX")
	put := func(serial string, drive registry.Drive, change func(*stock.Machine)) string {
		m := s.add("Ostermann", serial, drive)
		require.NoError(t, s.d.Store.Update(s.d.ctx, &registry.Action{At: s.d.Now(), By: "QX", Verb: "test"},
			func(tx stock.Tx) error {
				now, err := stock.MachineByTag(tx, m.Tag)
				if err == nil {
					change(now)
					err = tx.Put(now)
				}
				return err
			}))
		return string(m.Tag)
	}
	var can, cannot []string
	for _, stage := range registry.Stages {
		at := func(m *stock.Machine) {
			if m.Stage = stage; stage == registry.Held {
				m.HeldFrom, m.HeldWhy = registry.Check, "waits for a lamp"
			}
		}
		one := put("E1-"+string(stage), registry.Electric, at)
		lit := put("L1-"+string(stage), registry.Hand, func(m *stock.Machine) {
			at(m)
			m.Mains = m.Mains.Set("lamp", mains.Fitted)
		})
		cannot = append(cannot, put("H1-"+string(stage), registry.Hand, at))
		if _, may := registry.MoveOf(registry.UnitMachine, registry.DoSafePass, stage); may {
			can = append(can, one, lit)
		} else {
			cannot = append(cannot, one, lit)
		}
	}
	unsafe := put("U1", registry.Electric, func(m *stock.Machine) {
		m.Stage, m.HeldFrom, m.UnsafeWhy = registry.Held, registry.Check, "earth"
	})
	s.resize("UTF-8", 80, 60)
	s.press("e").sees(append(can, unsafe)...).misses(cannot...).press("Esc")
	s.press("b").sees(unsafe).sees("E1-bench", "H1-queued").misses("E1-held", "H1-held", "E1-check")
}
