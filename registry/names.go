package registry

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pitman/registry/near"
)

// Initials say who acted. They are initials, not full names: a history is kept for decades and read by many.
type Initials string

// Itself stands in the history where initials do, for what follows from the rules alone. Nobody acts by it.
const Itself Initials = "PITM"

// In says whether a list of the house's file names somebody.
func (i Initials) In(named []string) bool {
	return slices.Contains(named, string(i))
}

// ParsePeople reads the initials in a setting of house.toml, and writes them there as they are kept.
func ParsePeople(setting string, people []string) error {
	for n, by := range people {
		parsed, err := ParseInitials(by)
		if err != nil {
			return Errorf(Invalid, "%s: %v", setting, err)
		}
		people[n] = string(parsed)
	}
	return nil
}

// ParseInitials takes one to four letters, a digit after them to tell two people apart, and any case.
func ParseInitials(s string) (Initials, error) {
	by := strings.ToUpper(strings.TrimSpace(s))
	letters := strings.TrimRight(by, "0123456789")
	n := utf8.RuneCountInString(letters)
	ok := n >= 1 && n <= 4 && len(by)-len(letters) <= 1
	for _, r := range letters {
		ok = ok && unicode.IsLetter(r)
	}
	if !ok {
		return "", Errorf(Invalid,
			"initials %q: type one to four letters, such as QX, with a digit behind them if two people "+
				"share them", s)
	}
	return Initials(by), nil
}

// Of names the house beside the initials when it is another one, by its letters.
func (by Initials) Of(house string) string {
	if house == "" {
		return string(by)
	}
	return string(by) + " of " + house
}

// Longest text that a field takes, in characters. A label shows the first three; a note is for people only.
const (
	MaxName   = 60
	MaxSerial = 40
	MaxText   = 120
	MaxNote   = 2000
)

// CleanText trims a typed text and refuses what no field may hold: control characters, broken encoding, too
// much of it. Escape codes that reach a terminal raw could rewrite what the next person sees, so they never
// get in.
func CleanText(field, s string, max int) (string, error) {
	s = strings.TrimSpace(s)
	if !utf8.ValidString(s) {
		return "", Errorf(Invalid, "%s %q is not valid UTF-8 text: type it again", field, s)
	}
	for _, r := range s {
		if unicode.IsControl(r) || unseen(r) {
			return "", Errorf(Invalid, "%s %q holds a control character: type plain text on one line", field,
				s)
		}
	}
	if n := utf8.RuneCountInString(s); n > max {
		return "", Errorf(Invalid, "%s is %d characters long: type at most %d", field, n, max)
	}
	return s, nil
}

// CleanLines is CleanText for a text of several lines: a note, as somebody wrote it.
func CleanLines(field, s string, max int) (string, error) {
	lines := strings.Split(strings.ReplaceAll(strings.TrimSpace(s), "\r\n", "\n"), "\n")
	for i, line := range lines {
		clean, err := CleanText(field, line, max)
		if err != nil {
			return "", err
		}
		lines[i] = clean
	}
	s = strings.Join(lines, "\n")
	if n := utf8.RuneCountInString(s); n > max {
		return "", Errorf(Invalid, "%s is %d characters long: type at most %d", field, n, max)
	}
	return s, nil
}

// Blank says whether nothing was typed.
func Blank(s string) bool { return strings.TrimSpace(s) == "" }

// unseen finds the characters that only control how others look, and that nobody sees: they reorder the text
// around them, or make two names that look the same.
func unseen(r rune) bool { return unicode.Is(unicode.Cf, r) && !Joins(r) }

// Joins says that a character is no letter by itself, and that names in Persian or Hindi are misspelt without
// it: it joins its neighbours or keeps them apart.
func Joins(r rune) bool {
	const nonJoiner, joiner = 0x200C, 0x200D
	return r == nonJoiner || r == joiner
}

// OneOf reads a word from a closed list, in any case; of another it says which one it is a slip away from.
func OneOf[T ~string](field, s string, words []T) (T, error) {
	typed := T(strings.ToLower(strings.TrimSpace(s)))
	names := make([]string, len(words))
	for i, w := range words {
		if typed == w {
			return w, nil
		}
		names[i] = string(w)
	}
	hint := ""
	if word := near.Name(names, s); word != "" {
		hint = " (did you mean " + word + "?)"
	}
	return "", Errorf(Invalid, "%s %q is not known: type %s%s", field, s, OrList(names), hint)
}

// OrList joins names as in speech: "a, b or c".
func OrList(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// Counted says how many there are of something whose plural ends in s.
func Counted(n int, what string) string {
	return fmt.Sprintf("%d %s", n, Agree(n, what, what+"s"))
}

// Agree chooses the word that goes with a count: a verb, or a noun whose plural does not just end in s.
func Agree(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// FirstFew names tags, or whatever else has a name, in a line: of many the first ones, and how many more.
func FirstFew[T ~string](all []T) string { return FirstOf(10, all) }

// FirstOf is FirstFew where a line has room for another number of them.
func FirstOf[T ~string](most int, all []T) string {
	var out []string
	for _, one := range all[:min(len(all), most)] {
		out = append(out, string(one))
	}
	if len(all) > most {
		out = append(out, fmt.Sprintf("and %d more", len(all)-most))
	}
	return strings.Join(out, ", ")
}
