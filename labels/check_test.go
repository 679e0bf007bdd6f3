package labels

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
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
	for _, text := range r.Text[2:] {
		kind, key, _ := strings.Cut(text.Name, " ")
		b := map[string]map[string]Band{"drive": s.Drive, "stage": s.Stage}[kind][key]
		assert.InDelta(t, contrast(b.Ink, b.Colour), text.Ratio, 0.005001, text.Name)
		assert.Equal(t, math.Round(text.Ratio*100)/100, text.Ratio, "hundredths")
	}
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
	t.Run("two drives whose patterns are nearly alike", func(t *testing.T) {
		r := change(func(s *Scheme) {
			setDrive("hand", func(b *Band) { b.Pattern = "waves" })(s)
			setDrive("treadle", func(b *Band) { b.Pattern = "chevrons" })(s)
		})
		assert.Equal(t, []string{"hand and treadle have patterns that are hard to tell apart, waves and chevrons: " +
			"they differ in 18 % of the area, and 20 % is needed; plain would do for treadle"}, r.Faults)
		r = change(func(s *Scheme) {
			setDrive("hand", func(b *Band) { b.Pattern = "waves" })(s)
			setDrive("treadle", func(b *Band) { b.Pattern = "chevrons" })(s)
			setDrive("electric", func(b *Band) { b.Pattern = "plain" })(s)
		})
		require.Len(t, r.Faults, 1)
		assert.Contains(t, r.Faults[0], "; upright would do for treadle", "plain is taken")
	})
	t.Run("two drives with one word", func(t *testing.T) {
		r := change(setDrive("treadle", func(b *Band) { b.Word = "hand " }))
		assert.False(t, r.Pass)
		assert.Equal(t, []string{`hand and treadle have the same word, "HAND": give each its own`}, r.Faults)
		for _, p := range r.Pairs {
			assert.True(t, p.Pass, "colour and pattern still part them: %v", p)
		}
	})
	setStage := func(key string, edit func(*Band)) func(*Scheme) {
		return func(s *Scheme) { b := s.Stage[key]; edit(&b); s.Stage[key] = b }
	}
	t.Run("two stages of one pattern are told by colour", func(t *testing.T) {
		r := change(setStage("shipped", func(b *Band) { b.Pattern = "falling" })) // as held
		assert.True(t, r.Pass, "%v", r.Faults)
		for _, p := range r.Pairs {
			if p.A == "shipped" && p.B == "held" {
				assert.Equal(t, "colour", p.By, "%v", p)
			}
		}
	})
	t.Run("two stages that differ in their word alone", func(t *testing.T) {
		alike := func(s *Scheme) {
			held := s.Stage["held"]
			held.Word = "READY"
			s.Stage["ready"] = held
		}
		r := change(alike)
		require.Len(t, r.Faults, 1)
		assert.Contains(t, r.Faults[0], "ready and held look alike with usual sight")
		s := Default()
		alike(s)
		takeAdvice(t, s, s.Stage, r.Faults[0])
		assert.Empty(t, s.Check().Faults, r.Faults[0])
	})
	t.Run("stages that no single colour would part", func(t *testing.T) {
		r := change(func(s *Scheme) {
			for i, key := range Stages {
				grey := uint8(255 * i / (len(Stages) - 1))
				setStage(key, func(b *Band) {
					b.Pattern, b.Colour = "plain", Colour{grey, grey, grey}
					b.Ink = inkFor(b.Colour)
				})(s)
			}
		})
		require.NotEmpty(t, r.Faults)
		for _, fault := range r.Faults {
			assert.Contains(t, fault, "no single change would part them: ask for a whole set with scheme suggest")
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
		assert.Contains(t, r.Faults[0], "drive treadle: #ffffff on #b9e4c9 has a contrast of 1.40, and 4.5 is needed")
		assert.Contains(t, r.Text, TextResult{"drive treadle", 1.4, 4.5, false})
		assert.Contains(t, r.Faults[0], "#000000 would have")
	})
	// WCAG 2.2, 1.4.6 asks for 7; #595959 on white is the lightest grey that has it (from memory).
	t.Run("a symbol too pale to scan", func(t *testing.T) {
		assert.True(t, change(func(s *Scheme) { s.Text = mustColour("#595959") }).Pass)
		r := change(func(s *Scheme) { s.Text = mustColour("#5a5a5a") })
		assert.Equal(t, []string{"QR symbol on paper: #5a5a5a on #ffffff has a contrast of 6.90, and 7.0 is needed; #000000 would have 21.00"}, r.Faults)
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
	assert.Equal(t, []float64{20, 20, 20.01, 12.35, 1.4}, []float64{round(20, 2, 20), round(20.004, 2, 20), round(20.006, 2, 20), round(12.346, 2, 20), round(1.396, 2, 4.5)})
}

// Two words that print alike do not part two stages, however they are typed; nor may the advice rely on them.
func TestWordsAreComparedAsTheyPrint(t *testing.T) {
	s := Default()
	ready, held := s.Stage["ready"], s.Stage["held"]
	ready.Colour, held.Word = held.Colour, " ready\u200b "
	s.Stage["ready"], s.Stage["held"] = ready, held
	r := s.Check()
	require.Len(t, r.Faults, 1)
	takeAdvice(t, s, s.Stage, r.Faults[0])
	assert.Empty(t, s.Check().Faults, r.Faults[0])
}

// takeAdvice does what a fault says would mend it.
func takeAdvice(t *testing.T, s *Scheme, bands map[string]Band, fault string) {
	_, advice, ok := strings.Cut(fault, "would pass is ")
	require.True(t, ok, fault)
	colour, key, _ := strings.Cut(advice, " for ")
	b := bands[key]
	b.Colour = mustColour(colour)
	b.Ink = inkFor(b.Colour)
	bands[key] = b
}

// Two colours that usual sight takes for each other are said to be so; else the sentence names who takes them so soonest.
func TestTheFaultNamesWhoIsMistaken(t *testing.T) {
	rnd := rand.New(rand.NewPCG(17, 18))
	named := map[Vision]int{}
	for range 40 {
		s := Default()
		b := s.Drive["treadle"]
		b.Colour = Colour{uint8(rnd.IntN(256)), uint8(rnd.IntN(256)), uint8(rnd.IntN(256))}
		b.Ink = inkFor(b.Colour)
		s.Drive["treadle"] = b
		r := &Report{Pass: true}
		r.pair(s.groups()[0], "hand", "treadle")
		worst := slices.MinFunc(r.Pairs, func(p, q PairResult) int { return cmp.Compare(p.DeltaE, q.DeltaE) })
		if !r.Pairs[0].Pass {
			worst = r.Pairs[0]
		}
		for i, p := range r.Pairs {
			seen := ciede2000(viewsOf(s.Drive["hand"].Colour)[i], viewsOf(b.Colour)[i])
			assert.InDelta(t, seen, p.DeltaE, 0.0101)
			assert.Equal(t, math.Round(p.DeltaE*100)/100, p.DeltaE, "hundredths")
		}
		if worst.Pass {
			assert.Empty(t, r.Faults)
			continue
		}
		named[worst.Vision]++
		require.Len(t, r.Faults, 1)
		assert.Regexp(t, `^hand and treadle look alike `+regexp.QuoteMeta(worst.Vision.seen())+": ", r.Faults[0])
	}
	assert.Positive(t, named[Normal])
	assert.GreaterOrEqual(t, len(named), 3, "%v", named)
}

// 17 levels of each channel, ends included.
func TestTheSearchGridReachesEveryCorner(t *testing.T) {
	var corners []Colour
	for _, c := range colourGrid() {
		if (c.colour.R == 0 || c.colour.R == 255) && (c.colour.G == 0 || c.colour.G == 255) && (c.colour.B == 0 || c.colour.B == 255) {
			corners = append(corners, c.colour)
		}
	}
	assert.Len(t, colourGrid(), 17*17*17)
	assert.Len(t, corners, 8)
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
	s := Default()
	s.Stage["held"] = Band{Word: strings.Repeat("W", 24), Pattern: "dots"}
	assert.NoError(t, s.Validate())
}

func ExampleReport() {
	s := Default()
	b := s.Drive["treadle"]
	b.Colour = mustColour("#d4682b") // nearly the hand drive's
	s.Drive["treadle"] = b
	fmt.Println(s.Check().Faults[0])
	// Output: hand and treadle look alike with usual sight: the colours differ by 0.2, and 20 is needed; the nearest colour that would pass is #fdbd9d for treadle
}
