package desk

import (
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func TestScanAnywhere(t *testing.T) {
	s := sit(t, "QX")
	one, two := s.add("Harrow & Finch", "K7", registry.Hand), s.add("Ostermann", "B9", registry.Treadle)
	s.scan(string(one.Tag)).sees(string(one.Tag)+"   Harrow & Finch", "serial K7")
	s.scan(string(two.Tag)).sees(string(two.Tag) + "   Ostermann")
	s.press("Esc").sees("What would you like to do?") // a shelf of scans does not pile up

	// In the middle of a field: what was typed there stays, and Esc comes back to it.
	s.press("l", "har").scan(string(one.Tag)).sees(string(one.Tag) + "   Harrow & Finch")
	s.press("Esc").sees("Maker          har", "▸ Harrow & Finch").press("Enter",
		"K99").scan(string(two.Tag)).sees(string(two.Tag) + "   Ostermann")
	s.press("Esc").sees("Serial         K99\n").press("Enter").scan(string(two.Tag)).press("Esc").sees("h hand")

	// Where a tag is asked for, it is the answer.
	s.press("h", "a").scan(string(one.Tag)).sees("Came with base " + string(one.Tag))

	// A tag that somebody typed slowly into a field is text.
	s.press("n", string(one.Tag), "Enter").sees("Note           " + string(one.Tag))
	s.press("Esc", "f").scan(string(two.Tag)).sees(string(two.Tag) + "   Ostermann")
}

func TestScanThatWentWrongPressesNoKeys(t *testing.T) {
	s := sit(t, "QX")
	s.scan("PM18").sees("was mistyped", "What would you like to do?")
	s.scan(string(registry.NewTag("PM", 400))).sees("is not in this house", "What would you like to do?")
	// Half a scan, without its Enter.
	for _, r := range "PM1" {
		s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 5*time.Millisecond)
	}
	s.wait(time.Second).sees(`tag "PM1" is not a tag`, "What would you like to do?")
	// A scanner that is set up without Enter does well enough.
	m := s.add("Ostermann", "B9", registry.Hand)
	for _, r := range string(m.Tag) {
		s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 5*time.Millisecond)
	}
	s.wait(time.Second).sees(string(m.Tag) + "   Ostermann")
}

func TestFastFingersAreNoScan(t *testing.T) {
	s := sit(t, "QX")
	for _, r := range "lhar" {
		s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 20*time.Millisecond)
	}
	s.wait(time.Second).sees("Log a machine", "Maker          har")
}

func TestAKeyHeldDownIsNoScan(t *testing.T) {
	s := sit(t, "QX")
	s.points("turns,Does it turn?,any,", "tension,Do the discs hold?,any,", "winder,Does it wind?,any,",
		"belt,Does it grip?,any,",
		"leaks,Is it dry?,any,", "stroke,Does it stroke?,any,", "reverse,Does it reverse?,any,")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.toCheck(m)
	s.scan(string(m.Tag)).press("t", "Enter").scan("yyyyyyy").sees("Passed.")
}

func TestSingleKeyActsAtOnce(t *testing.T) {
	s := sit(t, "QX")
	s.key(tcell.NewEventKey(tcell.KeyRune, 'f', tcell.ModNone), time.Second)
	require.Equal(t, singleKey, s.d.Deadline().Sub(s.now))
	s.wait(singleKey).sees("Find a machine")
}

func TestPasteIsText(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.press("l", "har", "Enter")
	s.d.Paste(true)
	for _, r := range string(m.Tag) {
		s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 0)
	}
	s.key(tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone), 0)
	s.d.Paste(false)
	s.sees("Serial         " + string(m.Tag))
}

func TestEscInOnePacketWithTheNextKey(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har")
	s.key(tcell.NewEventKey(tcell.KeyRune, 'f', tcell.ModAlt), time.Second)
	s.wait(time.Second).sees("Find a machine")
	s.press("w", "l")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.scan(string(m.Tag)).press("i").sees("what happened")
	s.key(tcell.NewEventKey(tcell.KeyEscape, 0, tcell.ModAlt), time.Second)
	s.sees("Find a machine")
}

func TestScannersEndInMoreWaysThanOne(t *testing.T) {
	for _, end := range [][]tcell.Key{{tcell.KeyTab}, {tcell.KeyLF}, {tcell.KeyEnter, tcell.KeyLF}} {
		s := sit(t, "QX")
		m := s.add("Harrow & Finch", "K7", registry.Hand)
		s.press("l", "har")
		s.wait(time.Second)
		for _, r := range string(m.Tag) {
			s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 5*time.Millisecond)
		}
		for _, k := range end {
			s.key(tcell.NewEventKey(k, 0, tcell.ModNone), 5*time.Millisecond)
		}
		s.sees(string(m.Tag) + "   Harrow & Finch").press("Esc").sees("Maker          har")
	}
}

// A code on a packet of needles or on somebody's telephone is no row of keys.
func TestOtherCodesPressNoKeys(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	for _, code := range []string{"https://example.org/x", "4006381333931", "xx-90/14"} {
		s.scan(string(m.Tag)).scan(code).sees(string(m.Tag)+"   Harrow & Finch", code, "is no tag")
		require.Equal(t, registry.Logged, s.machine(m.Tag).Stage)
	}
}

func TestPasteWithoutItsEndLeavesTheKeyboardAlive(t *testing.T) {
	s := sit(t, "QX")
	s.press("l")
	s.d.Paste(true)
	s.press("har",
		"Enter").sees("Maker          har\n").wait(quiet).press("Esc").sees("What would you like to do?")
}
