package labels

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pitman/labels/colour"
	"pitman/labels/letters"
)

// Colour is an sRGB colour, written #rrggbb.
type Colour = colour.Colour

var black, white = colour.Black, colour.White

// Drives and Stages are the bands that a scheme has, in the order in which they are shown. A registry's words
// for them are the same; labels knows them only as keys.
var (
	Drives = []string{"hand", "treadle", "electric"}
	Stages = []string{"logged", "queued", "bench", "check", "ready", "reserved", "packed", "shipped", "parts",
		"sold", "scrapped", "held"}
)

// Band is the strip that tells a drive or a stage: a word in ink on colour, beside the pattern in the same
// two.
type Band struct {
	Word    string  `toml:"word" json:"word"`
	Colour  Colour  `toml:"colour" json:"colour"`
	Ink     Colour  `toml:"ink" json:"ink"`
	Pattern Pattern `toml:"pattern" json:"pattern"`
}

// SameWord says that the words of two bands do not tell them apart as they are printed.
func (b Band) SameWord(other Band) bool {
	return strings.EqualFold(letters.Clean(b.Word), letters.Clean(other.Word))
}

// Scheme is the house's choice of what labels look like: the [scheme] section of house.toml, which
// Parse reads.
type Scheme struct {
	// for lasting labels, by its name in the stock table
	Stock     string `toml:"stock" json:"stock"`
	SlipStock string `toml:"slip_stock" json:"slip_stock"` // for slips and shelves
	// before the tag in QR symbols; empty for the tag alone
	BaseURL string `toml:"base_url" json:"base_url"`
	QRLevel Level  `toml:"qr_level" json:"qr_level"`
	Text    Colour `toml:"text" json:"text"` // of words and QR modules
	// of the label stock in the printer, such as brown card; never printed
	Paper Colour `toml:"paper" json:"paper"`
	// a line on lasting labels for whoever finds the machine; empty for none
	IfFound string          `toml:"if_found" json:"if_found"`
	Drive   map[string]Band `toml:"drive" json:"drive"`
	Stage   map[string]Band `toml:"stage" json:"stage"`
}

// Default is the scheme of a house that has chosen nothing. It passes scheme.Check: ink makes each of its
// colours, any two of them are told apart by every eye, and in grey or without greys their patterns part
// them. The colours came out of a search for such a set; they follow no code.
func Default() *Scheme {
	band := func(word, colour, ink string, pattern Pattern) Band {
		return Band{word, mustColour(colour), mustColour(ink), pattern}
	}
	const dark, light = "#000000", "#ffffff"
	return &Scheme{
		// A tag tied on through a hole stays on oily iron, where stickers fail, and does not lift old decals.
		Stock:     "a4-tag-2x5",
		SlipStock: "a4-3x7",
		QRLevel:   "high", // oil and thumbs; a tag alone fits the smallest symbol even so
		Text:      black,
		Paper:     white,
		Drive: map[string]Band{
			"hand":     band("HAND", "#d4682a", dark, "dots"),
			"treadle":  band("TREADLE", "#b4d3c0", dark, "waves"),
			"electric": band("ELECTRIC", "#5a1846", light, "checks"),
		},
		Stage: map[string]Band{
			"logged":   band("LOGGED", "#e080a0", dark, "plain"),
			"queued":   band("QUEUED", "#b0c070", dark, "pins"),
			"bench":    band("AT THE BENCH", "#40b0e0", dark, "rising"),
			"check":    band("TO CHECK", "#8070b0", dark, "upright"),
			"ready":    band("READY", "#309070", dark, "level"),
			"reserved": band("RESERVED", "#403080", light, "grid"),
			"packed":   band("PACKED", "#104030", light, "bricks"),
			"shipped":  band("SHIPPED", "#203000", light, "triangles"),
			"parts":    band("FOR PARTS", "#904070", light, "dashes"),
			"sold":     band("SOLD", "#007050", light, "threads"),
			"scrapped": band("SCRAPPED", "#200010", light, "windows"),
			"held":     band("ON HOLD", "#c02000", light, "falling"),
		},
	}
}

func mustColour(s string) Colour {
	c, err := colour.Parse(s)
	if err != nil {
		panic(err)
	}
	return c
}

// maxWord bounds a band's word, in letters.
const maxWord = 24

// Validate refuses a scheme that cannot be drawn; whether people can tell its bands apart is for
// scheme.Check.
func (s *Scheme) Validate() error {
	if err := s.QRLevel.validate(); err != nil {
		return fmt.Errorf("[scheme]: %w", err)
	}
	if err := validateBaseURL(s.BaseURL); err != nil {
		return fmt.Errorf("[scheme]: %w", err)
	}
	for _, group := range s.Groups() {
		for _, key := range slices.Sorted(maps.Keys(group.Bands)) {
			where := fmt.Sprintf("[scheme.%s] %s", group.Name, key)
			b := group.Bands[key]
			if !slices.Contains(group.Keys, key) {
				return fmt.Errorf("%s: there is no such %s: type one of %s", where, group.Name,
					strings.Join(group.Keys, ", "))
			}
			if err := b.Pattern.validate(); err != nil {
				return fmt.Errorf("%s: %w", where, err)
			}
			if n := len([]rune(letters.Clean(b.Word))); n == 0 || n > maxWord {
				return fmt.Errorf("%s: word %q has %d letters: type 1 to %d", where, b.Word, n, maxWord)
			}
		}
		for _, key := range group.Keys {
			if _, ok := group.Bands[key]; !ok {
				return fmt.Errorf("[scheme.%s]: %s is missing: give it a word, colour, ink and pattern",
					group.Name, key)
			}
		}
	}
	return nil
}

// Group is a set of bands that stand for one question.
type Group struct {
	Name  string
	Keys  []string
	Bands map[string]Band
}

// DriveGroup names the bands of the drives, which are told apart more strictly than others.
const DriveGroup = "drive"

// Groups are the sets of bands in the order in which they are shown.
func (s *Scheme) Groups() []Group {
	return []Group{{DriveGroup, Drives, s.Drive}, {"stage", Stages, s.Stage}}
}
