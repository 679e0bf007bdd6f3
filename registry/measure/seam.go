package measure

import (
	"fmt"
	"strconv"
	"strings"

	"pitman/registry"
)

// ParseCount reads how many stitches were counted.
func ParseCount(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 {
		return 0, registry.Errorf(registry.Invalid,
			"stitches %q is not a count: type a whole number such as 20", text)
	}
	return n, nil
}

// seamExample is how a seam is typed in one line.
const seamExample = "4 = 50 mm / 12, or reverse 2.5 = 50 mm / 20"

// ParseSeam reads a measured seam in one line: what the dial says, the length beside the ruler and the
// stitches counted in it, as "4 = 50 mm / 12"; "reverse" before it for one that was sewn backwards.
func ParseSeam(text string) (check StitchCheck, err error) {
	said := strings.TrimSpace(text)
	if first, rest, _ := strings.Cut(said, " "); strings.EqualFold(first, "reverse") ||
		strings.EqualFold(first, "r") {
		check.Reverse, said = true, rest
	}
	dial, counted, ok := strings.Cut(said, "=")
	at := strings.LastIndex(counted, "/")
	if !ok || at < 0 {
		return check, registry.Errorf(registry.Invalid,
			"seam %q is not a setting, a length and a count: type %s",
			text, seamExample).On("seam")
	}
	if check.Dial, err = ParseDial(strings.TrimSpace(dial)); err != nil {
		return check, err
	}
	if check.Ruler, err = ParseLength("ruler", strings.TrimSpace(counted[:at])); err != nil {
		return check, err
	}
	check.Stitches, err = ParseCount(counted[at+1:])
	if err == nil {
		_, err = check.Measure()
	}
	return check, err
}

// ParseSeams reads several, with ; between them; none is none.
func ParseSeams(text string) (checks []StitchCheck, err error) {
	for _, one := range strings.Split(text, ";") {
		if strings.TrimSpace(one) == "" {
			continue
		}
		check, err := ParseSeam(one)
		if err != nil {
			return nil, err
		}
		checks = append(checks, check)
	}
	return checks, nil
}

// Said says a measured stitch both ways.
func (s StitchLength) Said() string {
	text := fmt.Sprintf("stitch length%s: %.2f mm, %.1f to the inch",
		map[bool]string{true: " in reverse"}[s.Reverse], s.Length.MM(), s.PerInch)
	if s.NoScale {
		return text + ", no scale to compare with"
	}
	return text + fmt.Sprintf("; the dial says %.2f mm, %.1f to the inch (%+.2f mm)", s.Dial.MM(),
		PerInch(s.Dial), s.Off)
}
