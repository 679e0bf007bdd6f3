package orders

import (
	"regexp"
	"strings"

	"pitman/registry"
)

// timberMark is the form of ISPM 15 (annex 2): country, hyphen, producer, treatment. Producers' codes may
// have spaces, and older marks say more behind the treatment.
var timberMark = regexp.MustCompile(
	`^[A-Z]{2} ?- ?([0-9A-Z][0-9A-Z .-]*[ .-]|[0-9A-Z .-]*[0-9])(HT|MB|DH|SF)\b`)

// CheckTimberMark refuses what has not the form of a timber mark; that none is known yet is no fault. Whether
// the timber was treated, no form tells.
func CheckTimberMark(mark string) error {
	if mark == "" || timberMark.MatchString(strings.ToUpper(mark)) {
		return nil
	}
	return registry.Errorf(registry.Invalid, "timber mark %q has not the form of ISPM 15 (two letters, "+
		"hyphen, producer, then HT, MB, DH or SF): read it off the wood again", mark).On("timber-mark")
}

// setTimberMark keeps a mark of the right form where it is typed: customs may burn crates with another.
func setTimberMark(o *Order, typed string) error {
	mark, err := registry.CleanText("timber-mark", typed, registry.MaxText)
	if err == nil {
		err = CheckTimberMark(mark)
	}
	if err == nil {
		o.TimberMark = mark
	}
	return err
}
