package desk

import (
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/stock"
)

// Whatever is pressed, the desk answers: it never stops, never draws outside the screen, and always knows who
// is there.
func TestAnyKeys(t *testing.T) {
	rounds := 3
	if os.Getenv("NIGHTLY") == "" {
		rounds = 1
	}
	for seed := range rounds {
		s := sit(t, "QX")
		s.d.Config.Safety.Competent = []string{"QX"}
		s.d.Label = func(registry.Initials, registry.Tag) (string, error) { return "printed", nil }
		tags := []string{string(s.add("Harrow & Finch", "K7", registry.Hand).Tag),
			string(s.add("Ostermann", "B9", registry.Electric).Tag), "PM18", "XY123"}
		base := &stock.Base{Pattern: "Alder"}
		require.NoError(t, s.d.AddBase(s.d.ctx, "MB", base))
		tags = append(tags, string(base.Tag))
		dice := rand.New(rand.NewPCG(uint64(seed), 7))
		letters := []rune("abcdefghiklmnoprstuvxyz0123456789?= .é漢")
		for range 1500 {
			switch n := dice.IntN(100); {
			case n < 8:
				s.scan(tags[dice.IntN(len(tags))])
			case n < 60:
				s.press(string(letters[dice.IntN(len(letters))]))
			case n < 85:
				s.press("Enter")
			case n < 97:
				keys := []tcell.Key{tcell.KeyEscape, tcell.KeyUp, tcell.KeyDown, tcell.KeyTab,
					tcell.KeyBackspace2, tcell.KeyLeft, tcell.KeyRight, tcell.KeyHome,
					tcell.KeyDelete, tcell.KeyPgDn, tcell.KeyPgUp, tcell.KeyBacktab, tcell.KeyF1, tcell.KeyLF,
					tcell.KeyCtrlU}
				s.key(tcell.NewEventKey(keys[dice.IntN(len(keys))], 0, tcell.ModNone), 100*time.Millisecond)
			case n < 99:
				s.resize("UTF-8", 1+dice.IntN(100), 1+dice.IntN(30))
			default:
				s.wait(time.Duration(dice.IntN(20)) * time.Minute)
			}
			s.lines()
			require.NotEmpty(t, s.d.by)
			require.NotEmpty(t, s.d.stack)
			require.LessOrEqual(t, len(s.d.stack), deepest, "pages pile up")
			s.d.quit = false
		}
	}
}
