package measure

import (
	"math/big"
	"regexp"
	"strings"

	"pitman/registry"
)

// StitchCheck is the measured point of a function test: a seam sewn beside a ruler, its stitches counted,
// against the dial. A lever without marks has no scale: then the length is only recorded.
type StitchCheck struct {
	Ruler     Length // length of seam
	Stitches  int    // stitches counted in it
	Dial      Length // stitch length the dial was set to; zero = no scale
	Tolerance Length // how far a good machine may stray from its dial, house's choice
	Reverse   bool   // sewn backwards
}

// StitchLength is the outcome of a stitch check. Length is rounded to the micrometre; the verdict is not.
type StitchLength struct {
	Length  Length  `json:"length_mm"`
	PerInch float64 `json:"per_inch"`
	Dial    Length  `json:"dial_mm"` // null = no scale
	Off     float64 `json:"off_mm"`  // length minus dial; 0 with no scale
	Pass    bool    `json:"pass"`    // true with no scale: there is nothing to compare with
	NoScale bool    `json:"no_scale"`
	Reverse bool    `json:"reverse,omitempty"` // sewn backwards
}

// inch is 25.4 mm exactly (international yard and pound agreement, 1959).
const inch = 25_400

// usualStitch is where dials in millimetres end (common practice, from memory): a bare figure above it may as
// well count stitches to the inch.
const usualStitch = 5 * Millimetre

// bare is a figure that no unit stands behind.
var bare = regexp.MustCompile(`^[0-9]+([.,][0-9]+)?$`)

// longestStitch bounds what is accepted: domestic machines stop at about 5 mm, a basting stitch at about 10
// (common practice).
const longestStitch = 12 * Millimetre

// Measure works out the stitch length, ruler length over stitches counted, and judges it against the dial.
func (c StitchCheck) Measure() (StitchLength, error) {
	switch {
	case c.Ruler <= 0:
		return StitchLength{},
			registry.Errorf(registry.Invalid,
				"ruler length is missing: type the length of seam you counted, such as 50 mm")
	case c.Stitches < 1 || c.Stitches > 1000:
		return StitchLength{},
			registry.Errorf(registry.Invalid,
				"stitches %d is not a count: type how many stitches lie in the ruler length, 1 to 1000",
				c.Stitches)
	case c.Dial < 0 || c.Dial > longestStitch:
		return StitchLength{},
			registry.Errorf(registry.Invalid,
				"dial setting %s is not a stitch length: type millimetres such as 2.5, stitches per inch "+
					"such as 10 spi, or none for no scale", c.Dial)
	case c.Tolerance < 0:
		return StitchLength{},
			registry.Errorf(registry.Invalid,
				"stitch tolerance %s is negative: put a length such as 0.3 mm in house.toml", c.Tolerance)
	}
	exact := big.NewRat(int64(c.Ruler), int64(c.Stitches))
	if exact.Cmp(big.NewRat(int64(longestStitch), 1)) > 0 {
		return StitchLength{},
			registry.Errorf(registry.Invalid,
				"stitches %d in %s make a stitch longer than %s: count again, or type the length in "+
					"another unit",
				c.Stitches, c.Ruler, longestStitch)
	}
	r := StitchLength{Length: Length(nearest(exact)), Dial: c.Dial, Pass: true, NoScale: c.Dial == 0,
		Reverse: c.Reverse}
	r.PerInch, _ = new(big.Rat).Quo(big.NewRat(inch, 1), exact).Float64()
	if r.NoScale {
		return r, nil
	}
	off := new(big.Rat).Sub(exact, big.NewRat(int64(c.Dial), 1))
	r.Off, _ = new(big.Rat).Quo(off, big.NewRat(int64(Millimetre), 1)).Float64()
	r.Pass = off.Abs(off).Cmp(big.NewRat(int64(c.Tolerance), 1)) <= 0
	return r, nil
}

// PerInch turns a stitch length into stitches per inch.
func PerInch(stitch Length) float64 { return inch / float64(stitch) }

var perInchPattern = regexp.MustCompile(`^([0-9]{1,2}(?:[.,][0-9]{1,3})?) ?` +
	`(?:spi|/ ?in|per inch|to the inch|stitches (?:per|to the) inch)$`)

// ParseDial reads a dial setting: "2.5" or "2.5 mm", "10 spi", or "none" for a lever without marks, which
// gives zero. A bare figure above any stitch length is refused rather than taken for stitches per inch: dials
// with bare numbers exist in both.
func ParseDial(text string) (Length, error) {
	s := strings.ToLower(Plain(text))
	switch s {
	case "none", "no scale", "no-scale", NotApplicable:
		return 0, nil
	}
	if m := perInchPattern.FindStringSubmatch(s); m != nil {
		per, ok := new(big.Rat).SetString(strings.ReplaceAll(m[1], ",", "."))
		if ok && per.Cmp(big.NewRat(2, 1)) >= 0 && per.Cmp(big.NewRat(60, 1)) <= 0 {
			return Length(nearest(per.Quo(big.NewRat(inch, 1), per))), nil
		}
		return 0, registry.Errorf(registry.Invalid,
			"dial setting %q is not a number of stitches per inch: type one between 2 and 60 spi", text)
	}
	dial, err := ParseLength("dial setting", text)
	if err != nil {
		return 0, registry.Errorf(registry.Invalid,
			"dial setting %q is not a stitch length: type millimetres such as 2.5, stitches per inch such "+
				"as 10 spi, or none for no scale", text)
	}
	if bare.MatchString(s) && dial > usualStitch && dial <= longestStitch {
		return 0, registry.Errorf(registry.Invalid,
			"dial setting %q does not say what it counts: type %s mm, or %s per inch if it counts stitches "+
				"to the inch", text, s, s)
	}
	if dial > longestStitch {
		return 0, registry.Errorf(registry.Invalid,
			"dial setting %q is longer than any stitch: type %s spi if the dial counts stitches per inch, "+
				"or none for no scale",
			text, s)
	}
	return dial, nil
}
