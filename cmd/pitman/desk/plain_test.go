package desk

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// lines plays the plain desk and returns what it printed.
func (s *seat) linesOf(in ...string) string {
	s.Helper()
	var out strings.Builder
	require.NoError(s,
		RunPlain(s.d, strings.NewReader(strings.Join(in, "\n")+"\n"), &out,
			func() func() { return func() {} }))
	return out.String()
}

func TestPlainDeskLogsAMachine(t *testing.T) {
	s := sit(t, "")
	out := s.linesOf("qx", "", "l", "har", "K20417", "t", "", ".", "q")
	for _, words := range []string{"Who are you?", "QX has not been here before",
		"What would you like to do?", "The number stamped on the bed",
		"1896 · table row K18001–K41000", "Enter logs it", "Write this on the tie-on label",
		"PM16  Harrow & Finch, 1896, treadle"} {
		require.Contains(t, out, words)
	}
	require.NotContains(t, out, "██")
	require.Equal(t, registry.Treadle, s.machine("PM16").Drive)
	require.True(t, s.d.quit)
}

// It ends with its input, wherever that is, and what was begun is kept.
func TestPlainDeskEndsWithItsInput(t *testing.T) {
	s := sit(t, "QX")
	s.linesOf("l", "har")
	s.restart("QX")
	s.sees("You had begun to log a machine", "Harrow & Finch")
}

func TestPlainDeskSellsOnlyOnAnEmptyLine(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Tamarisk", "none", registry.Hand)
	out := s.linesOf(string(m.Tag), "s", "too worn", "", "ostermann", string(m.Tag), "s")
	require.Contains(t, out, "Enter sells "+string(m.Tag))
	require.Equal(t, registry.Logged, s.machine(m.Tag).Stage)
	s.linesOf("")
	require.Equal(t, registry.Sold, s.machine(m.Tag).Stage)
}

func TestPlainDeskChoosesByFigure(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	out := s.linesOf("n", "1", "r", "1")
	require.Contains(t, out, "1  "+string(m.Tag)+" triage")
	require.Contains(t, out, "is now queued")
	require.Equal(t, registry.Queued, s.machine(m.Tag).Stage)
	out = s.linesOf("o", "1")
	require.Contains(t, out, "1  maker")
}

func TestPlainDeskOffersANearPlace(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	_, err := s.d.Move(s.d.ctx, "QX", []registry.Tag{m.Tag}, "under the stairs")
	require.NoError(t, err)
	out := s.linesOf(string(m.Tag), "m", "undr the stairs", "1")
	require.Contains(t, out, `place "undr the stairs" is new here: is it under the stairs?`)
	require.Contains(t, out, "  1  under the stairs")
	require.Equal(t, "under the stairs", s.machine(m.Tag).Place)
	s.linesOf("m", "undr the stairs", "undr the stairs") // said once more, it counts as it was typed
	require.Equal(t, "undr the stairs", s.machine(m.Tag).Place)
}
