package scheme

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels"
	"pitman/labels/colour"
)

func TestDefaultSchemePasses(t *testing.T) {
	s := labels.Default()
	require.NoError(t, s.Validate())
	r := Check(s, 0)
	assert.True(t, r.Pass, strings.Join(faults(r), "\n"))
	assert.Empty(t, r.Faults)
	assert.Len(t, r.Text, 2+3+12)
	for _, text := range r.Text[2:] {
		kind, key, _ := strings.Cut(text.Name, " ")
		b := map[string]map[string]labels.Band{"drive": s.Drive, "stage": s.Stage}[kind][key]
		assert.InDelta(t, colour.Contrast(b.Ink, b.Colour), text.Ratio, 0.005001, text.Name)
		assert.Equal(t, math.Round(text.Ratio*100)/100, text.Ratio, "hundredths")
	}
	assert.Len(t, r.Pairs, 15*14/2*6, "drives, stages, and each drive beside each stage, in six ways")
	for _, p := range r.Pairs {
		if p.Vision != colour.Grey && p.Vision != Mono {
			assert.Contains(t, []string{"both", "colour"}, p.By,
				"%v: the default's colours do without patterns, save in grey", p)
		}
	}
}

func mustColour(text string) labels.Colour {
	c, err := colour.Parse(text)
	if err != nil {
		panic(err)
	}
	return c
}

func faults(r *Report) (says []string) {
	for _, f := range r.Faults {
		says = append(says, f.Says)
	}
	return says
}

func TestReportJSONIsFixed(t *testing.T) {
	text, err := json.Marshal(Check(labels.Default(), 0))
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
	assert.ElementsMatch(t, []string{"a", "b", "vision", "delta_e", "need", "pass", "by"},
		keysOf(lists["pairs"][0]))
}

func keysOf[V any](m map[string]V) (keys []string) {
	for k := range m {
		keys = append(keys, k)
	}
	return keys
}

func TestConfusionsAreFoundAndMended(t *testing.T) {
	change := func(edit func(*labels.Scheme)) *Report {
		s := labels.Default()
		edit(s)
		require.NoError(t, s.Validate())
		return Check(s, 0)
	}
	setDrive := func(key string, edit func(*labels.Band)) func(*labels.Scheme) {
		return func(s *labels.Scheme) { b := s.Drive[key]; edit(&b); s.Drive[key] = b }
	}

	t.Run("two drives that red-green deficiency confuses", func(t *testing.T) {
		r := change(func(s *labels.Scheme) {
			setDrive("hand",
				func(b *labels.Band) { b.Colour = mustColour("#c83c1e"); b.Ink = colour.White })(s)
			setDrive("treadle",
				func(b *labels.Band) { b.Colour = mustColour("#6e6e1e"); b.Ink = colour.White })(s)
		})
		assert.False(t, r.Pass)
		require.NotEmpty(t, r.Faults)
		assert.Regexp(t,
			`^hand and treadle look alike .*: the colours differ by \d+\.\d, and 20 is needed; the nearest colour that would pass is #[0-9a-f]{6} for (hand|treadle)$`, faults(r)[0])
		for _, p := range r.Pairs {
			if p.A == "hand" && p.B == "treadle" {
				assert.Equal(t, p.DeltaE >= p.Need || p.Vision == Mono, p.Pass, "%v", p)
				if !p.Pass {
					assert.Equal(t, "colour", p.By, "what is lacking")
				}
			}
		}
	})
	t.Run("two drives with one pattern", func(t *testing.T) {
		r := change(setDrive("treadle", func(b *labels.Band) { b.Pattern = "dots" }))
		require.Len(t, r.Faults, 1)
		assert.Contains(t, faults(r)[0],
			"hand and treadle have patterns that are hard to tell apart, dots and dots")
		for _, p := range r.Pairs {
			if p.A == "hand" && p.B == "treadle" {
				assert.False(t, p.Pass)
				assert.Equal(t, "pattern", p.By)
			}
		}
	})
	t.Run("two drives whose patterns are nearly alike", func(t *testing.T) {
		r := change(func(s *labels.Scheme) {
			setDrive("hand", func(b *labels.Band) { b.Pattern = "waves" })(s)
			setDrive("treadle", func(b *labels.Band) { b.Pattern = "chevrons" })(s)
		})
		assert.Equal(t,
			[]string{"hand and treadle have patterns that are hard to tell apart, waves and chevrons: " +
				"they differ in 18 % of the area, and 20 % is needed; dots would do for treadle"}, faults(r))
		r = change(func(s *labels.Scheme) {
			setDrive("hand", func(b *labels.Band) { b.Pattern = "waves" })(s)
			setDrive("treadle", func(b *labels.Band) { b.Pattern = "chevrons" })(s)
			setDrive("electric", func(b *labels.Band) { b.Pattern = "dots" })(s)
		})
		require.Len(t, r.Faults, 1)
		assert.Contains(t, faults(r)[0], "; checks would do for treadle", "dots are taken")
	})
	t.Run("two drives with one word", func(t *testing.T) {
		r := change(setDrive("treadle", func(b *labels.Band) { b.Word = "hand " }))
		assert.False(t, r.Pass)
		assert.Equal(t, []string{`hand and treadle have the same word, "HAND": give each its own`}, faults(r))
		for _, p := range r.Pairs {
			assert.Equal(t, p.Pass, p.Vision != Mono || p.A != "hand" || p.B != "treadle",
				"colour and pattern still part them where there are both: %v", p)
		}
	})
	setStage := func(key string, edit func(*labels.Band)) func(*labels.Scheme) {
		return func(s *labels.Scheme) { b := s.Stage[key]; edit(&b); s.Stage[key] = b }
	}
	t.Run("two stages of one pattern are told by colour, but not without it", func(t *testing.T) {
		r := change(setStage("shipped", func(b *labels.Band) { b.Pattern = "falling" })) // as held
		assert.Equal(t,
			[]SchemeFault{{"stage.held.pattern",
				"shipped and held look alike in black and white: their patterns, falling and falling, " +
					"differ in 0 % of the area, and 20 % is needed; triangles would do for held"}}, r.Faults)
		for _, p := range r.Pairs {
			if p.A == "shipped" && p.B == "held" && p.Vision != Mono && p.Vision != colour.Grey {
				assert.Equal(t, "colour", p.By, "%v", p)
				assert.True(t, p.Pass)
			}
		}
	})
	t.Run("a drive and a stage of one look", func(t *testing.T) {
		// nearly as hand
		r := change(setStage("bench",
			func(b *labels.Band) { b.Colour, b.Pattern = mustColour("#d4682b"), "dots" }))
		require.Len(t, r.Faults, 2)
		assert.Contains(t, r.Faults[0].Says, "hand and bench look alike with usual sight")
		assert.Equal(t, "stage.bench.colour", r.Faults[0].Setting)
		assert.Contains(t, r.Faults[1].Says, "hand and bench look alike in black and white")
	})
	t.Run("colours that no ink makes are compared as ink makes them", func(t *testing.T) {
		r := change(func(s *labels.Scheme) {
			setStage("bench",
				func(b *labels.Band) { b.Colour, b.Pattern = mustColour("#00ffff"), "plain" })(s)
			setStage("logged",
				func(b *labels.Band) { b.Colour, b.Pattern = mustColour("#55b3b3"), "plain" })(s)
		})
		assert.Contains(t, faults(r)[0], "logged and bench look alike with usual sight")
	})
	t.Run("on brown card", func(t *testing.T) {
		r := change(func(s *labels.Scheme) { s.Paper = mustColour("#6a4a30") })
		assert.False(t, r.Pass, "white words are brown on it")
		assert.Contains(t, faults(r)[1], "QR symbol on paper: #000000 on #6a4a30 has a contrast of ")
	})
	t.Run("two stages that differ in their word alone", func(t *testing.T) {
		alike := func(s *labels.Scheme) {
			held := s.Stage["held"]
			held.Word = "READY"
			s.Stage["ready"] = held
		}
		r := change(alike)
		require.Len(t, r.Faults, 2)
		assert.Contains(t, faults(r)[1], "ready and held look alike in black and white")
		assert.Contains(t, faults(r)[0], "ready and held look alike with usual sight")
		s := labels.Default()
		alike(s)
		takeAdvice(t, s, s.Stage, faults(r)[0])
		b := s.Stage["held"]
		b.Pattern = "level" // as the second fault says
		s.Stage["held"] = b
		assert.Empty(t, Check(s, 0).Faults, faults(r)[0])
	})
	t.Run("stages that no single colour would part", func(t *testing.T) {
		r := change(func(s *labels.Scheme) {
			for i, key := range labels.Stages {
				grey := uint8(255 * i / (len(labels.Stages) - 1))
				setStage(key, func(b *labels.Band) {
					b.Pattern, b.Colour = "plain", colour.RGB(grey, grey, grey)
					b.Ink = colour.InkFor(b.Colour)
				})(s)
			}
		})
		require.NotEmpty(t, r.Faults)
		for _, fault := range faults(r) {
			if !strings.Contains(fault, "in black and white") {
				assert.Contains(t, fault,
					"no single change would part them: ask for a whole set with scheme suggest")
			}
		}
	})
	t.Run("two stages of one colour are told by pattern and word", func(t *testing.T) {
		same := func(s *labels.Scheme) {
			b := s.Stage["ready"]
			b.Colour, b.Ink = s.Stage["held"].Colour, s.Stage["held"].Ink
			s.Stage["ready"] = b
		}
		assert.True(t, change(same).Pass)
		r := change(func(s *labels.Scheme) {
			same(s)
			b := s.Stage["ready"]
			b.Word = s.Stage["held"].Word
			s.Stage["ready"] = b
		})
		require.Len(t, r.Faults, 1)
		assert.Contains(t, faults(r)[0],
			"ready and held look alike with usual sight: the colours differ by 0.0, and 10 is needed")
	})
	t.Run("a word nobody can read", func(t *testing.T) {
		r := change(setDrive("treadle", func(b *labels.Band) { b.Ink = colour.White }))
		require.Len(t, r.Faults, 1)
		assert.Contains(t, faults(r)[0],
			"drive treadle: #ffffff on #b4d3c0 has a contrast of 1.61, and 4.5 is needed")
		assert.Contains(t, r.Text, TextResult{"drive treadle", 1.61, 4.5, false})
		assert.Contains(t, faults(r)[0], "#000000 would have")
	})
	// WCAG 2.2, 1.4.6 asks for 7; #595959 on white is the lightest grey that has it (computed).
	t.Run("a symbol too pale to scan", func(t *testing.T) {
		assert.True(t, change(func(s *labels.Scheme) { s.Text = mustColour("#595959") }).Pass)
		r := change(func(s *labels.Scheme) { s.Text = mustColour("#5a5a5a") })
		assert.Equal(t,
			[]string{"QR symbol on paper: #5a5a5a on #ffffff has a contrast of 6.90, and 7.0 is needed; " +
				"#000000 would have 21.00"}, faults(r))
	})
	t.Run("white ink on dark paper shows the paper", func(t *testing.T) {
		r := change(func(s *labels.Scheme) { s.Text, s.Paper = colour.White, colour.Black })
		assert.Contains(t, faults(r)[1], "QR symbol on paper: #000000 on #000000 has a contrast of 1.00")
	})
}

// A figure that falls short must not read as if it did: "20.0, and 20 is needed" would send nobody looking.
func TestFiguresNeverRoundUpToTheNeed(t *testing.T) {
	assert.Equal(t, []float64{19.99, 19.9, 4.49},
		[]float64{round(19.996, 2, 20), round(19.996, 1, 20), round(4.499, 2, 4.5)})
	assert.Equal(t, []float64{20, 20, 20.01, 12.35, 1.4},
		[]float64{round(20, 2, 20), round(20.004, 2, 20), round(20.006, 2, 20), round(12.346, 2, 20),
			round(1.396, 2, 4.5)})
}

// Two words that print alike do not part two stages, however they are typed; nor may the advice rely on them.
func TestWordsAreComparedAsTheyPrint(t *testing.T) {
	s := labels.Default()
	ready, held := s.Stage["ready"], s.Stage["held"]
	ready.Colour, ready.Ink, held.Word = held.Colour, held.Ink, " ready\u200b "
	s.Stage["ready"], s.Stage["held"] = ready, held
	r := Check(s, 0)
	require.Len(t, r.Faults, 1)
	takeAdvice(t, s, s.Stage, faults(r)[0])
	assert.Equal(t, []string{`ready and held have the same word, "READY": give each its own`},
		faults(Check(s, 0)), "now told by colour, but not without it")
}

// takeAdvice does what a fault says would mend it.
func takeAdvice(t *testing.T, s *labels.Scheme, bands map[string]labels.Band, fault string) {
	_, advice, ok := strings.Cut(fault, "would pass is ")
	require.True(t, ok, fault)
	text, key, _ := strings.Cut(advice, " for ")
	b := bands[key]
	b.Colour = mustColour(text)
	b.Ink = colour.InkFor(b.Colour)
	bands[key] = b
}

// Two colours that usual sight takes for each other are said to be so; else the sentence names who takes them
// so soonest.
func TestTheFaultNamesWhoIsMistaken(t *testing.T) {
	rnd := rand.New(rand.NewPCG(17, 18))
	named := map[Vision]int{}
	for range 40 {
		s := labels.Default()
		b := s.Drive["treadle"]
		b.Colour = colour.RGB(uint8(rnd.IntN(256)), uint8(rnd.IntN(256)),
			uint8(rnd.IntN(256))).On(colour.White)
		b.Ink = colour.InkFor(b.Colour)
		s.Drive["treadle"] = b
		r := &Report{Pass: true}
		r.pair(newComparison(s, bandsOf(s), usualDPI), 0, 1)
		coloured := r.Pairs[:5]
		worst := slices.MinFunc(coloured,
			func(p, q PairResult) int { return cmp.Compare(p.DeltaE, q.DeltaE) })
		if !r.Pairs[0].Pass {
			worst = r.Pairs[0]
		}
		for i, p := range coloured {
			seen := colour.Difference(colour.ViewsOf(s.Drive["hand"].Colour)[i], colour.ViewsOf(b.Colour)[i])
			assert.InDelta(t, seen, p.DeltaE, 0.3, "but for what ink makes of a colour at its limit")
			assert.Equal(t, math.Round(p.DeltaE*100)/100, p.DeltaE, "hundredths")
		}
		if worst.Pass {
			assert.Empty(t, r.Faults)
			continue
		}
		named[worst.Vision]++
		require.Len(t, r.Faults, 1)
		assert.Regexp(t, `^hand and treadle look alike `+regexp.QuoteMeta(worst.Vision.Seen())+": ",
			faults(r)[0])
	}
	assert.Positive(t, named[colour.Normal])
	assert.GreaterOrEqual(t, len(named), 3, "%v", named)
}

// Every 16th step of each channel, as far as ink goes: black and white are among them, the screen's pure
// colours are not.
func TestTheSearchGridHoldsWhatInkMakes(t *testing.T) {
	has := map[labels.Colour]bool{}
	for _, c := range colourGrid(colour.White) {
		assert.True(t, c.colour.Printable())
		has[c.colour] = true
	}
	assert.Greater(t, len(has), 1000)
	assert.True(t, has[colour.Black] && has[colour.White])
	for _, neon := range []string{"#00ffff", "#00ff00", "#ff00ff", "#0000ff"} {
		assert.False(t, has[mustColour(neon)], neon)
	}
}

// The advice must be worth taking: the colour named passes, and no colour of the search grid that passes is
// nearer.
func TestNearestColourPassesAndIsNearest(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for range 12 {
		s := labels.Default()
		b := s.Drive["hand"]
		b.Colour = colour.RGB(uint8(rnd.IntN(256)), uint8(rnd.IntN(256)), uint8(rnd.IntN(256)))
		s.Drive["hand"] = b
		cmp := newComparison(s, bandsOf(s), usualDPI)
		c, ok := cmp.nearestFor(0)
		require.True(t, ok)
		far := func(v colour.Views) bool {
			treadle, electric := colour.ViewsOf(s.Drive["treadle"].Colour),
				colour.ViewsOf(s.Drive["electric"].Colour)
			return v.Apart(&treadle) >= driveNeed && v.Apart(&electric) >= driveNeed
		}
		assert.True(t, far(colour.ViewsOf(c)), "%s for %s", c, b.Colour)
		from := b.Colour.Lab()
		for _, other := range colourGrid(colour.White) {
			if far(other.seen) {
				assert.LessOrEqual(t, colour.Difference(from, c.Lab()), colour.Difference(from, other.plain)+
					1e-9, "%s for %s, but %s", c, b.Colour, other.colour)
			}
		}
	}
}

// Whatever the house's colour, what is suggested passes, ink can make it, and any two bands are clearly apart
// for every eye, grey print aside; on brown card as well, where that is light enough.
func TestSuggestionsPassFromAnyBase(t *testing.T) {
	bases := []labels.Colour{colour.Black, colour.White, mustColour("#00ffff"), mustColour("#808080")}
	if os.Getenv("NIGHTLY") != "" {
		for r := 0; r < 256; r += 85 {
			for g := 0; g < 256; g += 85 {
				for b := 0; b < 256; b += 85 {
					bases = append(bases, colour.RGB(uint8(r), uint8(g), uint8(b)))
				}
			}
		}
	}
	for _, paper := range []labels.Colour{colour.White, mustColour("#f0d8b0")} {
		for _, base := range bases {
			own := labels.Default()
			own.Paper = paper
			s, err := Suggest(own, base)
			if paper != colour.White && err != nil {
				continue // black or colour.White itself cannot be parted from the rest there
			}
			require.NoError(t, err)
			assert.Equal(t, paper, s.Paper)
			assert.NoError(t, s.Validate(), base)
			r := Check(s, 0)
			assert.True(t, r.Pass, "%s: %s", base, strings.Join(faults(r), "\n"))
			for _, b := range bandsOf(s) {
				assert.True(t, b.Colour.Printable(), "%s: %s %s", base, b.key, b.Colour)
			}
			for _, p := range r.Pairs {
				if p.Vision != colour.Grey && p.Vision != Mono {
					assert.Greater(t, p.DeltaE, 8.0, "%s on %s: %v", base, paper, p)
				}
			}
		}
	}
	own := labels.Default()
	own.Paper = mustColour("#5a3d20")
	_, err := Suggest(own, bases[0])
	assert.ErrorContains(t, err, "no scheme from #000000 passes on paper #5a3d20: ")
	one, err := Suggest(labels.Default(), bases[3])
	require.NoError(t, err)
	two, err := Suggest(labels.Default(), bases[3])
	require.NoError(t, err)
	assert.Equal(t, one, two)
}

func TestSchemesThatCannotBeDrawn(t *testing.T) {
	for want, edit := range map[string]func(*labels.Scheme){
		`qr_level "max" is not known`: func(s *labels.Scheme) { s.QRLevel = "max" },
		`[scheme.drive] steam: there is no such drive: type one of hand, treadle, electric`: func(s *labels.Scheme) { s.Drive["steam"] = labels.Band{} },
		`[scheme.stage] held: pattern "tartan" is not known: type one of plain, upright,`:   func(s *labels.Scheme) { s.Stage["held"] = labels.Band{Word: "X", Pattern: "tartan"} },
		`[scheme.stage] held: word "" has 0 letters: type 1 to 24`:                          func(s *labels.Scheme) { s.Stage["held"] = labels.Band{Pattern: "dots"} },
		`[scheme.stage] held: word "` + strings.Repeat("W", 25) +
			`" has 25 letters`: func(s *labels.Scheme) {
			s.Stage["held"] = labels.Band{Word: strings.Repeat("W", 25),
				Pattern: "dots"}
		},
		`[scheme.drive]: hand is missing: give it a word`: func(s *labels.Scheme) { delete(s.Drive, "hand") },
		`base_url "HTTPS://SHED.EXAMPLE" must end in /`:   func(s *labels.Scheme) { s.BaseURL = "HTTPS://SHED.EXAMPLE" },
	} {
		s := labels.Default()
		edit(s)
		assert.ErrorContains(t, s.Validate(), want)
	}
	s := labels.Default()
	s.Stage["held"] = labels.Band{Word: strings.Repeat("W", 24), Pattern: "dots"}
	assert.NoError(t, s.Validate())
}

func ExampleReport() {
	s := labels.Default()
	b := s.Drive["treadle"]
	b.Colour = mustColour("#d4682b") // nearly the hand drive's
	s.Drive["treadle"] = b
	fmt.Println(strings.ReplaceAll(Check(s, 0).Faults[0].Says, "; ", ";\n"))
	// Output:
	// hand and treadle look alike with usual sight: the colours differ by 0.2, and 20 is needed;
	// the nearest colour that would pass is #fcc989 for hand
}

// labels.Drives and stages each have a pattern that no other has, on a screen and in the dots of usual
// printers: labels and slips hang side by side.
func TestDefaultPatternsAreAllApart(t *testing.T) {
	bands := bandsOf(labels.Default())
	for i, a := range bands {
		for _, b := range bands[i+1:] {
			assert.GreaterOrEqual(t, a.Pattern.Apart(b.Pattern), patternNeed, "%s, %s", a.key, b.key)
			for _, dpi := range []int{203, 300, 600} {
				assert.GreaterOrEqual(t, labels.MonoDistances(dpi)(a.Pattern, b.Pattern), patternNeed,
					"%s, %s at %d", a.key, b.key, dpi)
			}
		}
	}
}

// A word that no font draws is a fault of the scheme, told where it is set.
func TestAWordThatCannotBeDrawn(t *testing.T) {
	s := labels.Default()
	b := s.Drive["hand"]
	b.Word = "\U000F1234"
	s.Drive["hand"] = b
	r := Check(s, 0)
	assert.False(t, r.Pass)
	assert.Equal(t, "drive.hand.word", r.Faults[0].Setting)
	assert.Contains(t, r.Faults[0].Says, "has letters that no font of this computer draws")
}
