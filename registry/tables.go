package registry

import (
	"slices"
	"strings"
)

// The rows of the house's editable lists. They are read by the lists package from CSV files that people keep
// in a spreadsheet; Check says what is wrong with a row, Key what may stand only once.

// DriveSet is the set of drives a row is for, written as words such as "hand treadle". Empty, or "any", is
// all of them.
type DriveSet []Drive

// UnmarshalText reads the words of a drive column.
func (d *DriveSet) UnmarshalText(text []byte) (err error) {
	*d, err = wordSet("drive", text, Drives)
	return err
}

// StitchSet is the stitch types that a row of a list is for; empty means all.
type StitchSet []Stitch

// UnmarshalText reads the words of a stitch column.
func (s *StitchSet) UnmarshalText(text []byte) (err error) {
	*s, err = wordSet("stitch", text, Stitches)
	return err
}

// Has says whether the row is for this stitch.
func (s StitchSet) Has(stitch Stitch) bool { return len(s) == 0 || slices.Contains(s, stitch) }

// wordSet reads one or more known words, or any.
func wordSet[T ~string](column string, text []byte, known []T) (set []T, err error) {
	for word := range strings.FieldsFuncSeq(strings.ToLower(string(text)),
		func(r rune) bool { return r == ' ' || r == '+' || r == '/' }) {
		if word == "any" {
			return nil, nil
		}
		if !slices.Contains(known, T(word)) {
			names := make([]string, len(known))
			for i, one := range known {
				names[i] = string(one)
			}
			last := len(names) - 1
			return nil, Errorf(Invalid, "%s %q is not known: type any, or one or more of %s or %s", column,
				word,
				strings.Join(names[:last], ", "), names[last])
		}
		set = append(set, T(word))
	}
	return set, nil
}

// Has says whether the row is for this drive.
func (d DriveSet) Has(drive Drive) bool { return len(d) == 0 || slices.Contains(d, drive) }

// YesNo is a yes or no in a spreadsheet; empty is no.
type YesNo bool

// UnmarshalText reads yes or no as people write it.
func (y *YesNo) UnmarshalText(text []byte) error {
	switch strings.ToLower(string(text)) {
	case "yes", "y", "true", "1":
		*y = true
	case "", "no", "n", "false", "0":
		*y = false
	default:
		return Errorf(Invalid, "%q is neither yes nor no: type yes or no", text)
	}
	return nil
}

// CheckWord asks for one short word that can be typed after a flag without quotes.
func CheckWord(field, word string) error {
	if word == "" || len(word) > 40 || strings.ContainsFunc(word, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-')
	}) {
		return Errorf(Invalid,
			"%s %q is not one short word: type small letters, digits and hyphens such as needle-bar", field,
			word)
	}
	return nil
}
