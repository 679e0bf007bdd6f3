package letters

import (
	"strings"
	"testing"

	"pitman/registry/registrytest/lacking"

	"github.com/go-text/typesetting/bidi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"Café":                "Café",
		"Cafe\u0301":          "Café",
		" a \t\n b ":          "a b",
		"Ǧašpar Ế Ộ Ữ ằ":      "Ǧašpar Ế Ộ Ữ ằ",
		"縫い":                  "縫い",
		"a\x00\x1b[1mb\u202e": "a[1mb",
		"\xff\xfe":            "\uFFFD",
		"می\u200cخواهم":       "می\u200cخواهم",
		"ready\u200d ":        "ready",
		"":                    "",
	} {
		assert.Equal(t, want, Clean(in), "%q", in)
	}
}

// What is compiled in is the same on every computer: Latin, Greek and Cyrillic, set as text.
func TestBuiltInScripts(t *testing.T) {
	for _, text := range []string{"Café Ωμέγα Щука ½ № € – … •", ""} {
		for _, f := range []*Face{Regular, Bold} {
			assert.True(t, f.Set(text).Plain, text)
		}
		assert.Empty(t, Regular.Missing(text))
	}
	assert.InDelta(t, 2*Bold.Width("HAND", 1), Bold.Width("HAND", 2), 1e-12)
}

// onMachine asks the computer for a font for the letters.
func onMachine(t *testing.T, text string) {
	if len(Regular.Missing(text)) > 0 {
		lacking.Installed(t, "a font that draws "+text, "fonts-noto-core and fonts-wqy-microhei")
	}
}

// Letters that come apart into several glyphs, join, or run from the right. That Arabic letters join shows in
// their width: a word is narrower than its letters each by itself, and a letter between two others has
// another shape than alone.
func TestShaping(t *testing.T) {
	onMachine(t, "Ế ماكينة 缝纫机 שלום")
	for _, text := range []string{"Gòn Ế Ộ Ữ ằ", "ماكينة خياطة", "缝纫机 货架 3", "架子 3", "מכונת תפירה"} {
		for _, f := range []*Face{Regular, Bold} {
			l := f.Set(text)
			assert.False(t, l.Plain, text)
			assert.Positive(t, l.Width, text)
			rings := 0
			l.Outline(0, 0, 1, func(n int, at func(int) Point) {
				rings++
				for i := range n {
					assert.True(t, at(i).X > -0.3 && at(i).X < l.Width+0.3, "%s: ink at %v of %v", text,
						at(i), l.Width)
				}
			})
			assert.Positive(t, rings, text)
		}
	}
	alone := 0.0
	for _, r := range "ماكينة" {
		alone += Regular.Width(string(r), 1)
	}
	assert.Less(t, Regular.Width("ماكينة", 1), 0.95*alone)
	assert.NotEqual(t, ink(Regular.Set("货架 3")), ink(Regular.Set("架子 3")),
		"two places that look alike lead people astray")
	assert.Greater(t, Regular.Set("Ế").Top, 0.95, "a stacked accent reaches above a usual row")
}

func ink(l *Line) (points []Point) {
	l.Outline(0, 0, 1, func(n int, at func(int) Point) { points = append(points, at(0)) })
	return points
}

// A word is of one font where one has it all: no accent from elsewhere.
func TestAWordIsOfOneFont(t *testing.T) {
	onMachine(t, "Ữ")
	faces := Regular.faces([]rune("Gòn Ữnông 7"))
	assert.Equal(t, Regular.builtIn(), faces[0])
	assert.NotEqual(t, Regular.builtIn(), faces[4])
	for i := 5; i < 9; i++ {
		assert.Equal(t, faces[4], faces[i])
	}
	assert.Equal(t, Regular.builtIn(), faces[len(faces)-1])
}

// Unicode Standard Annex #9, rule L2, by hand: in a line from left to right, Hebrew runs from the right, and
// a number within it from the left.
func TestOrderOnTheRow(t *testing.T) {
	order := func(text string) (out string) {
		var levels []run
		runes := []rune(text)
		for _, r := range visual(Regular.runs(runes)) {
			part := runes[r.start:r.end]
			if r.level%2 == bidi.Level(1) {
				for i := len(part) - 1; i >= 0; i-- {
					out += string(part[i])
				}
			} else {
				out += string(part)
			}
			levels = append(levels, r)
		}
		assert.NotEmpty(t, levels)
		return out
	}
	assert.Equal(t, "No. 12", order("No. 12"))
	assert.Equal(t, "a גבא b", order("a אבג b"))
	assert.Equal(t, "a 12 גבא b", order("a אבג 12 b"))
	assert.Equal(t, "c גבא", order("אבג c"))
}

// What no font draws is named, each letter once, with its script.
func TestMissingIsNamed(t *testing.T) {
	const private = "\U000F1234"
	assert.Equal(t, []rune(private), Bold.Missing("a"+private+private))
	assert.Empty(t, Script([]rune(private)[0]))
	assert.Equal(t, "Ethiopic", Script('አ'))
	assert.Equal(t, "Arabic", Script('ك'))
	assert.Empty(t, Script('7'))
	if _, ok := strings.CutPrefix(string(Regular.Missing("😀")), "😀"); !ok {
		t.Log("a font here has an outline of this picture")
	}
}

func TestPrefix(t *testing.T) {
	assert.Equal(t, 3, Regular.Prefix("aaaa", Regular.Width("aaa", 1)))
	assert.Equal(t, 1, Regular.Prefix("aaaa", 0), "one letter at least")
	assert.Equal(t, 4, Regular.Prefix("aaaa", 99))
	assert.Equal(t, len("e\u0301"), Regular.Prefix("e\u0301x", 0.1), "with its marks")
}

func FuzzSet(f *testing.F) {
	for _, s := range []string{"Café", "縫", "\xff", "a\u0301\u0301", "\u200d😀", "אב 12 ab", "ماكينة 3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		text := Clean(s)
		assert.Equal(t, text, Clean(text))
		l := Regular.Set(text)
		require.GreaterOrEqual(t, l.Width, 0.0)
		if text != "" {
			n := Regular.Prefix(text, 2)
			require.True(t, n > 0 && n <= len(text))
		}
	})
}
