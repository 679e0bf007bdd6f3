package desk

import (
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/pin"
	"pitman/registry/pin/hash"
	"pitman/registry/stock"
)

// signing is a desk in a house where EL and RS sign, with PINs that are worked out in no time.
func signing(t *testing.T, by registry.Initials) *seat {
	s := sit(t, by)
	s.d.Pins.Cost = hash.Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}
	s.d.Config.Safety.Competent = []string{"EL", "RS"}
	return s
}

// bare is electric by its name, and has nothing on it any more that takes the mains: converting it is signed.
func (s *seat) bare(serial string) string {
	m := &stock.Machine{Maker: "Ostermann", Serial: serial, Drive: registry.Electric}
	for _, part := range mains.Kinds {
		m.MoveMains(mains.Off, part)
	}
	require.NoError(s, s.d.Log(s.d.ctx, "QX", m, true))
	return string(m.Tag)
}

func (s *seat) converts(tag string) *seat { return s.scan(tag).press("v", "h", "Enter", "Enter") }

func (s *seat) isHand(tag string) bool { return s.machine(registry.Tag(tag)).Drive == registry.Hand }

// Somebody chooses a PIN, signs with it once, and goes on for a quarter of an hour as long as it is them.
func TestSigningAtTheDesk(t *testing.T) {
	s := signing(t, "EL")
	first, second, third, fourth := s.bare("1"), s.bare("2"), s.bare("3"), s.bare("4")
	s.converts(first).sees("EL signed without a PIN", "choose yours with i on the first page")
	require.True(t, s.isHand(first))

	s.press("Esc", "Esc", "Esc").sees("PIN: choose mine").press("i").sees("A PIN for EL")
	s.press("482911").sees("******").misses("482911").press("Enter", "482912", "Enter").sees("not the same")
	s.press("482911", "Enter", "482911", "Enter").sees("EL has a PIN now")
	s.wait(pin.Life).press("Enter")

	s.converts(second).sees("PIN of EL", "EL signs with a PIN: that nothing takes the mains any more")
	require.False(t, s.isHand(second))
	s.press("482911").sees("PIN   ******").misses("482911")
	s.press("Esc").sees("converts it").press("Enter", "000000", "Enter").sees("that is not the PIN of EL")
	s.press("000000", "Enter", "482911", "Enter").sees("try again in 1")
	s.wait(time.Second).press("482911", "Enter")
	require.True(t, s.isHand(second))

	s.converts(third).misses("PIN of EL")
	require.True(t, s.isHand(third), "it was given a moment ago")

	s.press("Esc", "Esc", "Esc", "w", "RS", "Enter", "Enter").sees("RS").press("w", "EL",
		"Enter").sees("Hello EL")
	s.converts(fourth).sees("PIN of EL")
	s.press("482911", "Enter")
	require.True(t, s.isHand(fourth), "the initials had changed")
	s.wait(pin.Life).press("Enter")
	fifth := s.bare("5")
	s.converts(fifth).sees("PIN of EL")
	require.False(t, s.isHand(fifth), "a quarter of an hour is over")
}

// Who has none while others have chooses one where it is missing, and loses nothing of what was begun.
func TestChoosingAPINWhereItIsMissing(t *testing.T) {
	s := signing(t, "RS")
	_, err := s.d.Pins.Set(s.d.ctx, "EL", "EL", "771204")
	require.NoError(t, err)
	tag := s.bare("1")
	s.converts(tag).sees("A PIN for RS", "RS has no PIN")
	s.press("482911", "Enter", "482911", "Enter")
	require.True(t, s.isHand(tag))
	s.press("Esc", "Esc", "Esc", "i").sees("PIN of RS", "another PIN").press("482911",
		"Enter").sees("A PIN for RS")
	s.press("Esc", "w", "TV", "Enter", "Enter").misses("PIN: choose mine")
	assert.False(t, s.d.Signs(s.d.by))
}

// Working a PIN out takes a moment. What is typed in it reaches no field and no key behind the PIN's page.
func TestNothingTypedWhileAPINIsTriedReachesTheNextPage(t *testing.T) {
	s := signing(t, "EL")
	first := s.bare("1")
	_, err := s.d.Pins.Set(s.d.ctx, "EL", "EL", "482911")
	require.NoError(t, err)
	s.converts(first).sees("PIN of EL")
	events := make(chan tcell.Event, 64)
	for _, r := range "000000" {
		events <- tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone)
	}
	events <- tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone)
	for _, r := range "482911" {
		events <- tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone)
	}
	close(events)
	require.NoError(t, s.d.loop(s.screen, events))
	s.sees("that is not the PIN of EL").misses("482911", "******")
}
