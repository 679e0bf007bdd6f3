package pin

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"pitman/registry"
)

// How long a PIN is, in characters.
const (
	shortest = 4
	longest  = 64
)

// Read takes a PIN as it was typed. What is around it does not count, and an accent counts the same however a
// keyboard writes it. It refuses what nobody could type again, and what is guessed at once.
func Read(typed string) (string, error) {
	refuse := func(format string, args ...any) (string, error) {
		return "", registry.Errorf(registry.Invalid, format, args...).On("pin")
	}
	if !utf8.ValidString(typed) {
		return refuse("the PIN is no text: use figures, letters and signs")
	}
	read := norm.NFC.String(strings.TrimSpace(typed))
	if strings.IndexFunc(read, func(r rune) bool { return !unicode.IsPrint(r) }) >= 0 {
		return refuse("the PIN holds a character that cannot be seen: use figures, letters and signs")
	}
	n := utf8.RuneCountInString(read)
	if n < shortest || n > longest {
		return refuse("the PIN has %s: choose %d to %d of them, such as six figures",
			registry.Counted(n, "character"), shortest, longest)
	}
	return read, nil
}

// MaxFile is how much of a file with a PIN is read: more is none.
const MaxFile = 4 * longest * utf8.UTFMax

// FromFile reads the PIN in a file: its one line, however the system that wrote it ends a line.
func FromFile(text []byte) (string, error) {
	lines, err := Lines(text, MaxFile)
	if err != nil {
		return "", err
	}
	if len(lines) != 1 || lines[0] == "" {
		return "", registry.Errorf(registry.Invalid,
			"the file with the PIN has %s: write the PIN into it alone, as plain text",
			registry.Counted(len(lines), "line")).On("pin")
	}
	return Read(lines[0])
}

// Lines parts a text into its lines, as any system ends them; what is empty at its end does not count.
func Lines(text []byte, most int) ([]string, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if len(text) > most || !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0 {
		return nil, registry.Errorf(registry.Invalid,
			"what should hold a PIN is too long, or no plain text (UTF-8): write the PIN alone, one a line").
			On("pin")
	}
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(text)), "\n")
	for i, line := range lines {
		lines[i] = strings.TrimSpace(line)
	}
	for len(lines) > 0 && lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines, nil
}

// Same refuses a repetition that is not what was typed first.
func Same(first, again string) error {
	if read, err := Read(again); err == nil && read == first {
		return nil
	}
	return registry.Errorf(registry.Invalid, "the two are not the same: type the new PIN twice").On("pin")
}
