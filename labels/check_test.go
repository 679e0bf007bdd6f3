package labels

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDefaultSchemePasses(t *testing.T) {
	s := Default()
	require.NoError(t, s.Validate())
	r := s.Check()
	assert.True(t, r.Pass, strings.Join(r.Faults, "\n"))
	assert.Empty(t, r.Faults)
	assert.Len(t, r.Text, 2+3+12)
	assert.Len(t, r.Pairs, (3*2/2+12*11/2)*5)
	for _, p := range r.Pairs {
		if p.Vision != Grey {
			assert.Contains(t, []string{"both", "colour"}, p.By, "%v: the default's colours do without patterns, save in grey", p)
		}
	}
}

func TestReportJSONIsFixed(t *testing.T) {
	text, err := json.Marshal(Default().Check())
	require.NoError(t, err)
	var report map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(text, &report))
	assert.ElementsMatch(t, []string{"pass", "text", "pairs"}, keysOf(report))
	var lists map[string][]map[string]any
	delete(report, "pass")
	rest, err := json.Marshal(report)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(rest, &lists))
	assert.ElementsMatch(t, []string{"name", "ratio", "need", "pass"}, keysOf(lists["text"][0]))
	assert.ElementsMatch(t, []string{"a", "b", "vision", "delta_e", "need", "pass", "by"}, keysOf(lists["pairs"][0]))
}

func keysOf[V any](m map[string]V) (keys []string) {
	for k := range m {
		keys = append(keys, k)
	}
	return keys
}

func TestConfusionsAreFoundAndMended(t *testing.T) {
	change := func(edit func(*Scheme)) *Report {
		s := Default()
		edit(s)
		require.NoError(t, s.Validate())
		return s.Check()
	}
	setDrive := func(key string, edit func(*Band)) func(*Scheme) {
		return func(s *Scheme) { b := s.Drive[key]; edit(&b); s.Drive[key] = b }
	}

	t.Run("two drives that red-green deficiency confuses", func(t *testing.T) {
		r := change(func(s *Scheme) {
			setDrive("hand", func(b *Band) { b.Colour = mustColour("#c83c1e"); b.Ink = white })(s)
			setDrive("treadle", func(b *Band) { b.Colour = mustColour("#6e6e1e"); b.Ink = white })(s)
		})
		assert.False(t, r.Pass)
		require.NotEmpty(t, r.Faults)
		assert.Regexp(t, `^hand and treadle look alike .*: the colours differ by \d+\.\d, and 20 is needed; the nearest colour that would pass is #[0-9a-f]{6} for (hand|treadle)$`, r.Faults[0])
		for _, p := range r.Pairs {
			if p.A == "hand" && p.B == "treadle" {
				assert.Equal(t, p.DeltaE >= p.Need, p.Pass, "%v", p)
				if !p.Pass {
					assert.Equal(t, "colour", p.By, "what is lacking")
				}
			}
		}
	})
	t.Run("two drives with one pattern", func(t *testing.T) {
		r := change(setDrive("treadle", func(b *Band) { b.Pattern = "dots" }))
		require.Len(t, r.Faults, 1)
		assert.Contains(t, r.Faults[0], "hand and treadle have patterns that are hard to tell apart, dots and dots")
		for _, p := range r.Pairs {
			if p.A == "hand" && p.B == "treadle" {
				assert.False(t, p.Pass)
				assert.Equal(t, "pattern", p.By)
			}
		}
	})
	t.Run("two stages of one colour are told by pattern and word", func(t *testing.T) {
		same := func(s *Scheme) {
			b := s.Stage["ready"]
			b.Colour = s.Stage["held"].Colour
			s.Stage["ready"] = b
		}
		assert.True(t, change(same).Pass)
		r := change(func(s *Scheme) {
			same(s)
			b := s.Stage["ready"]
			b.Word = s.Stage["held"].Word
			s.Stage["ready"] = b
		})
		require.Len(t, r.Faults, 1)
		assert.Contains(t, r.Faults[0], "ready and held look alike with usual sight: the colours differ by 0.0, and 10 is needed")
	})
	t.Run("a word nobody can read", func(t *testing.T) {
		r := change(setDrive("treadle", func(b *Band) { b.Ink = white }))
		require.Len(t, r.Faults, 1)
		assert.Contains(t, r.Faults[0], "drive treadle: #ffffff on #b9e4c9 has a contrast of 1.39")
		assert.Contains(t, r.Faults[0], "#000000 would have")
	})
	t.Run("a light symbol on dark paper", func(t *testing.T) {
		r := change(func(s *Scheme) { s.Text, s.Paper = white, black })
		require.Len(t, r.Faults, 1)
		assert.Contains(t, r.Faults[0], "light on dark")
	})
}

// A figure that falls short must not read as if it did: "20.0, and 20 is needed" would send nobody looking.
func TestFiguresNeverRoundUpToTheNeed(t *testing.T) {
	assert.Equal(t, []float64{19.99, 19.9, 4.49}, []float64{round(19.996, 2, 20), round(19.996, 1, 20), round(4.499, 2, 4.5)})
	assert.Equal(t, []float64{20, 20, 12.35, 1.4}, []float64{round(20, 2, 20), round(20.004, 2, 20), round(12.346, 2, 20), round(1.396, 2, 4.5)})
}

// Two words that print alike do not part two stages, however they are typed; nor may the advice rely on them.
func TestWordsAreComparedAsTheyPrint(t *testing.T) {
	s := Default()
	ready, held := s.Stage["ready"], s.Stage["held"]
	ready.Colour, held.Word = held.Colour, " ready\u200b "
	s.Stage["ready"], s.Stage["held"] = ready, held
	r := s.Check()
	require.Len(t, r.Faults, 1)
	_, advice, _ := strings.Cut(r.Faults[0], "would pass is ")
	colour, key, _ := strings.Cut(advice, " for ")
	b := s.Stage[key]
	b.Colour = mustColour(colour)
	b.Ink = inkFor(b.Colour)
	s.Stage[key] = b
	assert.Empty(t, s.Check().Faults, r.Faults[0])
}

// The advice must be worth taking: the colour named passes, and no colour of the search grid that passes is nearer.
func TestNearestColourPassesAndIsNearest(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for range 30 {
		s := Default()
		b := s.Drive["hand"]
		b.Colour = Colour{uint8(rnd.IntN(256)), uint8(rnd.IntN(256)), uint8(rnd.IntN(256))}
		s.Drive["hand"] = b
		g := s.groups()[0]
		c, ok := g.nearestFor("hand")
		require.True(t, ok)
		far := func(v views) bool {
			return v.apart(viewsOf(s.Drive["treadle"].Colour)) >= driveNeed && v.apart(viewsOf(s.Drive["electric"].Colour)) >= driveNeed
		}
		assert.True(t, far(viewsOf(c)), "%s for %s", c, b.Colour)
		from := b.Colour.linear().lab()
		for _, other := range colourGrid() {
			if far(other.seen) {
				assert.LessOrEqual(t, ciede2000(from, c.linear().lab()), ciede2000(from, other.seen[0])+1e-9, "%s for %s, but %s", c, b.Colour, other.colour)
			}
		}
	}
}

func TestSuggestionsPassFromAnyBase(t *testing.T) {
	bases := []Colour{black, white}
	for y := 0; y < 256; y += 8 {
		bases = append(bases, Colour{uint8(y), uint8(y), uint8(y)})
	}
	step := 51
	if testing.Short() {
		step = 85
	}
	for r := 0; r < 256; r += step {
		for g := 0; g < 256; g += step {
			for b := 0; b < 256; b += step {
				bases = append(bases, Colour{uint8(r), uint8(g), uint8(b)})
			}
		}
	}
	for _, base := range bases {
		s := Default().Suggest(base)
		assert.Equal(t, base, s.Drive["hand"].Colour)
		assert.NoError(t, s.Validate(), base)
		r := s.Check()
		assert.True(t, r.Pass, "%s: %s", base, strings.Join(r.Faults, "\n"))
	}
	assert.Equal(t, Default().Suggest(bases[9]), Default().Suggest(bases[9]))
}

func TestSchemesThatCannotBeDrawn(t *testing.T) {
	for want, edit := range map[string]func(*Scheme){
		`qr_level "max" is not known`: func(s *Scheme) { s.QRLevel = "max" },
		`[scheme.drive] steam: there is no such drive: type one of hand, treadle, electric`: func(s *Scheme) { s.Drive["steam"] = Band{} },
		`[scheme.stage] held: pattern "tartan" is not known: type one of plain, upright,`:   func(s *Scheme) { s.Stage["held"] = Band{Word: "X", Pattern: "tartan"} },
		`[scheme.stage] held: word "" has 0 letters: type 1 to 24`:                          func(s *Scheme) { s.Stage["held"] = Band{Pattern: "dots"} },
		`[scheme.stage] held: word "` + strings.Repeat("W", 25) + `" has 25 letters`:        func(s *Scheme) { s.Stage["held"] = Band{Word: strings.Repeat("W", 25), Pattern: "dots"} },
		`[scheme.drive]: hand is missing: give it a word`:                                   func(s *Scheme) { delete(s.Drive, "hand") },
		`base_url "HTTPS://SHED.EXAMPLE" must end in /`:                                     func(s *Scheme) { s.BaseURL = "HTTPS://SHED.EXAMPLE" },
	} {
		s := Default()
		edit(s)
		assert.ErrorContains(t, s.Validate(), want)
	}
}

func ExampleReport() {
	s := Default()
	b := s.Drive["treadle"]
	b.Colour = mustColour("#d4682b") // nearly the hand drive's
	s.Drive["treadle"] = b
	fmt.Println(s.Check().Faults[0])
	// Output: hand and treadle look alike with usual sight: the colours differ by 0.2, and 20 is needed; the nearest colour that would pass is #fdbd9d for treadle
}
