package desk

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/stock"
)

// A seat is a person at a desk that has no terminal: keys go in, the screen comes out, and the clock runs as
// told.
type seat struct {
	*testing.T
	d      *Desk
	dir    string
	now    time.Time
	screen tcell.SimulationScreen
	keys   int // pressed so far, a typed letter included
}

// invented makers, as in any house that edits its own tables
const madeUp = `maker,prefix,first,last,from,to,model,works,source,note
Harrow & Finch,K,1,18000,1895,1895,Swallow,,invented,
Harrow & Finch,K,18001,41000,1896,1896,Swallow,,invented,
Harrow & Finch,KA,1,50000,1921,1921,Heron,,invented,
Ostermann,B,1,149999,1908,1908,Kiebitz,,invented,
`

func sit(t *testing.T, by registry.Initials) *seat {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "house")
	first := house.Defaults().House
	first.Name = "The Quarry Lane workshop"
	_, err := house.Init(dir, first)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tables", "own.csv"), []byte(madeUp), 0o600))
	s := &seat{T: t, dir: dir, now: time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)}
	s.restart(by)
	return s
}

// restart opens the house again, as after a crash: nothing of the desk before is left but its files.
func (s *seat) restart(by registry.Initials) {
	s.Helper()
	h, err := house.Open(s.dir)
	require.NoError(s, err)
	db, err := h.Registry()
	require.NoError(s, err)
	s.Cleanup(func() { db.Close() })
	w := house.NewWorkshop(db, h.Config, h.Lists, h.Tables, func() time.Time { return s.now })
	s.d = New(context.Background(), w, s.dir, by, Outside{})
	s.resize("UTF-8", 80, 24)
}

func (s *seat) resize(charset string, width, height int) {
	s.screen = tcell.NewSimulationScreen(charset)
	require.NoError(s, s.screen.Init())
	s.screen.SetSize(width, height)
}

var named = map[string]tcell.Key{"Enter": tcell.KeyEnter, "Esc": tcell.KeyEscape, "Up": tcell.KeyUp,
	"Down": tcell.KeyDown, "Tab": tcell.KeyTab,
	"Backspace": tcell.KeyBackspace2, "Left": tcell.KeyLeft, "CtrlC": tcell.KeyCtrlC}

// press presses keys one after another, as fingers do: a quarter of a second apart. A word that names no key
// is typed. The next press comes after a moment, as of someone who looks at the page.
func (s *seat) press(words ...string) *seat {
	for _, word := range words {
		if k, ok := named[word]; ok {
			s.key(tcell.NewEventKey(k, 0, tcell.ModNone), 250*time.Millisecond)
			continue
		}
		for _, r := range word {
			s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 250*time.Millisecond)
		}
	}
	return s.wait(typingGap)
}

// scan sends a tag and Enter, five milliseconds apart.
func (s *seat) scan(tag string) *seat {
	s.wait(300 * time.Millisecond)
	for _, r := range tag {
		s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), 5*time.Millisecond)
	}
	s.key(tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone), 5*time.Millisecond)
	return s.wait(300 * time.Millisecond)
}

func (s *seat) key(k *tcell.EventKey, after time.Duration) {
	s.wait(after)
	s.keys++
	s.d.Key(k, s.now)
}

// wait lets time pass, with a tick wherever the desk wants one.
func (s *seat) wait(d time.Duration) *seat {
	end := s.now.Add(d)
	for {
		at := s.d.Deadline()
		if at.IsZero() || at.After(end) {
			break
		}
		if at.After(s.now) {
			s.now = at
		}
		s.d.Tick(s.now)
	}
	s.now = end
	return s
}

// lines is what stands on the screen.
func (s *seat) lines() []string {
	s.d.Draw(s.screen)
	s.screen.Show()
	cells, width, height := s.screen.GetContents()
	lines := make([]string, height)
	for y := range lines {
		var b strings.Builder
		for x := range width {
			b.WriteString(string(cells[y*width+x].Bytes))
		}
		lines[y] = strings.TrimRight(b.String(), " \x00")
	}
	return lines
}

func (s *seat) page() string { return strings.Join(s.lines(), "\n") }

// sees and misses look for words on the screen.
func (s *seat) sees(words ...string) *seat {
	s.Helper()
	page := s.page()
	for _, w := range words {
		require.Contains(s, page, w)
	}
	return s
}

func (s *seat) misses(words ...string) *seat {
	s.Helper()
	page := s.page()
	for _, w := range words {
		require.NotContains(s, page, w)
	}
	return s
}

// add logs a machine without the desk.
func (s *seat) add(maker, serial string, drive registry.Drive) *stock.Machine {
	s.Helper()
	m := &stock.Machine{Maker: maker, Serial: serial, Drive: drive}
	require.NoError(s, s.d.Log(context.Background(), "MB", m, true))
	s.d.message = ""
	return m
}

func (s *seat) machine(tag registry.Tag) *stock.Machine {
	s.Helper()
	m, err := s.d.Machine(context.Background(), tag)
	require.NoError(s, err)
	return m
}
