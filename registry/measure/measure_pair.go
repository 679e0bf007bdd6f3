package measure

import (
	"regexp"

	"pitman/registry"
)

// MaxMeasure is longer than anything that is measured on a head or a base; what is above it lacks its
// decimal point.
const MaxMeasure = 3000 * Millimetre

// ParseMeasure reads a length on a head or a base; empty is not known.
func ParseMeasure(field, text string) (Length, error) {
	if registry.Blank(text) {
		return 0, nil
	}
	l, err := ParseLength(field, text)
	if err == nil && l > MaxMeasure {
		return 0, registry.Errorf(registry.Invalid, "%s %q is more than %s: type %s", field, text,
			MaxMeasure, Lengths.Example)
	}
	return l, err
}

var (
	by        = regexp.MustCompile(`(?i)\s*[x×*]\s*|\s+by\s+`)
	unitAtEnd = regexp.MustCompile(`[^\d\s.,/]+$`)
)

// ParseLengthByWidth reads two lengths with an x between them: "371x178", "371 × 178 mm", "14 5/8 x 7 in". A
// unit behind the second alone is meant for both. Empty is not known.
func ParseLengthByWidth(field, text string) (length, width Length, err error) {
	if registry.Blank(text) {
		return 0, 0, nil
	}
	parts := by.Split(Plain(text), -1)
	if len(parts) != 2 || parts[0] == "" || parts[1] == "" {
		return 0, 0, registry.Errorf(registry.Invalid,
			"%s %q is not a length by a width: type both with an x between them, such as 371x178 or 14 5/8 "+
				"x 7 in", field, text)
	}
	if unit := unitAtEnd.FindString(parts[1]); unit != "" && !unitAtEnd.MatchString(parts[0]) {
		parts[0] += " " + unit
	}
	if length, err = ParseMeasure(field, parts[0]); err != nil {
		return 0, 0, err
	}
	if width, err = ParseMeasure(field, parts[1]); err != nil {
		return 0, 0, err
	}
	return length, width, nil
}
