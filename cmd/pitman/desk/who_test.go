package desk

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func TestWhoIsThere(t *testing.T) {
	s := sit(t, "")
	s.sees("Who are you?", "nobody is logged in").press("Enter").sees("Type your initials first")
	s.press("quentin", "Enter").sees(`initials "quentin"`)
	s.press("qx", "Enter").sees("QX has not been here before").press("Enter").sees("Hello QX",
		"QX · 0 done today")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	// A known one needs no second Enter; a scan waits until it is known who scans.
	s.restart("")
	s.scan(string(m.Tag)).sees("Who are you?", string(m.Tag)+" is next").press("mb",
		"Enter").sees(string(m.Tag)+"   Harrow & Finch", "MB · 1 done")
	s.press("Esc", "w", "Esc").sees("What would you like to do?")
	s.press("q")
	require.True(t, s.d.quit)
}

func TestSharedDeskAsksWhoIsStillThere(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter", "K2")
	s.wait(9 * time.Minute).misses("Still QX?")
	s.wait(2*time.Minute).sees("Still QX?", "Press Enter if you are QX")
	s.press("Esc").sees("Still QX?") // no way round it
	s.press("Enter").sees("Serial         K2").press("0417", "Enter").sees("1896")
	// Someone else: they start afresh, and nothing of QX is lost.
	s.wait(time.Hour).sees("Still QX?").press("mb", "Enter", "Enter").sees("Hello MB",
		"What would you like to do?")
	s.press("w", "qx", "Enter", "Enter").sees("You had begun to log a machine", "K20417")

	s.d.Config.Desk.IdleMinutes = 0
	s.wait(100 * time.Hour).misses("Still QX?")
}

func TestOthersLoseNothing(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.scan(string(m.Tag)).press("h", "waits for a l").wait(time.Hour).press("mb", "Enter",
		"Enter").sees("MB ·").scan(string(m.Tag)).press("h")
	s.misses("waits for a l").press("Esc", "Esc", "w", "qx", "Enter",
		"Enter").scan(string(m.Tag)).press("h").sees("waits for a l")
}

func TestHowTheDeskWorks(t *testing.T) {
	s := sit(t, "QX")
	s.press("?").sees("How the desk works", "Scan a tag").press("Esc").sees("What would you like to do?")
	// in a field it is a character that cannot be read
	s.press("l", "har", "Enter", "K?1").sees("Serial         K?1")
}

func TestAPhoneIsPairedAtTheDesk(t *testing.T) {
	s := sit(t, "QX")
	s.misses("phone: pair mine")
	var served bool
	symbol := slices.Repeat([]string{strings.Repeat("█", 33)}, 17)
	symbol[16] = strings.Repeat("▀", 33)
	s.d.Pair = func(by registry.Initials) (Pairing, error) {
		if !served {
			return Pairing{}, registry.Errorf(registry.Conflict, "no pages are served now")
		}
		return Pairing{Symbol: symbol, At: "https://192.0.2.7:8421/pair", Code: "7KQ2-" + string(by)}, nil
	}
	s.press("f", "Esc").sees("phone: pair mine").press("h").sees("no pages are served now",
		"What would you like to do?")
	served = true
	s.press("h").sees("Scan this with the phone of QX", "https://192.0.2.7:8421/pair", "7KQ2-QX", symbol[16])
	s.misses("more..", "..above")
	s.resize("US-ASCII", 80, 24)
	s.sees("7KQ2-QX").misses("█", "####")
	s.press("Esc").sees("What would you like to do?")
}
