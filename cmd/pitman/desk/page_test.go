package desk

import (
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/uniseg"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func TestOtherTerminals(t *testing.T) {
	s := sit(t, "QX")
	s.add("Ångström Sønner", "1", registry.Hand)
	s.press("l")
	s.resize("US-ASCII", 80, 24)
	for _, l := range s.lines() {
		require.False(t, hasWide(l), l)
	}
	s.sees("-----", "QX - 0 done today", "Angstrom Sonner")
	for _, size := range [][2]int{{80, 24}, {132, 50}, {40, 12}, {30, 10}, {20, 5}, {1, 1}} {
		s.resize("UTF-8", size[0], size[1])
		for _, l := range s.lines() {
			require.LessOrEqual(t, uniseg.StringWidth(l), size[0])
		}
	}
}

// No label of a menu is cut, however narrow the window.
func TestMenusAreReadable(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	for _, width := range []int{80, 60, 40} {
		s.resize("UTF-8", width, 50)
		s.press("Esc").sees("find one: tag, maker, serial", "decide about one that is new",
			"who am I? QX or someone else",
			"Press a letter, or scan a tag", "? how the desk works")
		s.scan(string(m.Tag)).sees("refurbish it: bench comes next", "hold it: it waits for something",
			"other details and measures")
	}
}

func TestHostileTextStaysText(t *testing.T) {
	require.Equal(t, "a?[2Jb?c", harmless("a\x1b[2Jb\u202ec"))
}

func TestWrap(t *testing.T) {
	for _, test := range []struct {
		text  string
		width int
		want  string
	}{
		{"", 10, ""},
		{"one two three", 7, "one two|three"},
		{"one two three", 100, "one two three"},
		{"incomprehensible", 6, "incomp|rehens|ible"},
		{"a incomprehensible b", 6, "a|incomp|rehens|ible b"},
		{"漢字漢字", 4, "漢字|漢字"},
		{"漢字", 1, "漢|字"},
	} {
		require.Equal(t, test.want, strings.Join(wrap(test.text, test.width), "|"), test.text)
	}
}

func TestBigTagFits(t *testing.T) {
	// All tags of one to four letters, up to eight figures, stand whole on 80 columns, no two alike.
	seen := map[string]bool{}
	for _, tag := range []string{"A0O", "AO0", "PM17K", "LR61E", "WXYZ1234567", "B8S5Z2I1"} {
		lines := large(tag, 76)
		for _, l := range lines {
			require.LessOrEqual(t, columns(l), 76, tag)
		}
		require.LessOrEqual(t, len(lines), 10)
		picture := strings.Join(lines, "\n")
		require.False(t, seen[picture])
		seen[picture] = true
	}
}

func TestEditorKeepsCharactersWhole(t *testing.T) {
	e := edit("ne\u0301")
	e.before, _ = cutLast(e.before)
	require.Equal(t, "n", e.text())
	for _, r := range "می\u200cخواهم" { // a Persian name, whose halves are kept apart by a letter of no width
		require.True(t, e.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone)))
	}
	require.Equal(t, "nمی\u200cخواهم", e.text())
	shown, at := (&editor{before: "abcdefgh", after: "ij"}).window(5)
	require.Equal(t, "efghi", shown)
	require.Equal(t, 4, at)
}

// Pressing Down beyond the end of a page must not have to be taken back before Up moves it.
func TestReadingStopsAtTheEnd(t *testing.T) {
	s := sit(t, "QX")
	s.resize("UTF-8", 40, 20)
	s.press("?")
	for range 80 {
		s.press("Down").page()
	}
	end := s.page()
	require.NotEqual(t, end, s.press("Up").page())
}

// On a small screen every key of a page is in sight.
func TestEveryKeyIsInSightOnASmallScreen(t *testing.T) {
	s := sit(t, "QX")
	s.d.Label = func(registry.Initials, registry.Tag) (string, error) { return "", nil }
	m := s.add("Ostermann", "B9", registry.Electric)
	s.d.enter("QX")
	s.resize("UTF-8", 60, 20)
	for _, page := range []string{"", string(m.Tag)} {
		if page != "" {
			s.scan(page)
		}
		s.d.message = ""
		shown := s.misses("more..").page()
		var items []item
		switch top := s.d.top().(type) {
		case *home:
			items = top.items
		case *machine:
			items = top.items
		}
		require.NotEmpty(t, items)
		for _, it := range items {
			require.Contains(t, shown, " "+string(it.key)+"   ", "%s\n%s", it.label, shown)
		}
	}
}
