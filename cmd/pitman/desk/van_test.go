package desk

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// A van-load: donor, day and receipt once, then machine after machine, a head and its base together, and the
// labels at the end.
func TestVanLoad(t *testing.T) {
	s := sit(t, "QX")
	var printed []registry.Tag
	s.d.Label = func(_ registry.Initials, tag registry.Tag) (string, error) {
		printed = append(printed, tag)
		return "printed", nil
	}
	s.press("v").sees("A van-load: what all of it has in common")
	s.press("Tolvane hall", "Enter").sees("Came on").press("Enter", "17", "Enter", "bay 1", "Enter")
	s.press("ost", "Enter", "B1", "Enter", "t").sees("Tolvane hall", "receipt 17", "bay 1").press("Enter")
	s.sees("Write this on the tie-on label", "van-load of 1: end it, labels")
	s.press("c").sees("Log the treadle base of PM16").press("Enter", "y", "Enter").sees("PM16")
	s.press("Enter", "Enter", "Enter", "Enter").sees("Write this on the tie-on label", "van-load of 2")
	s.press("Enter").sees("Log a machine").press("har", "Enter", "K7", "Enter", "h", "Enter").sees("van-load of 3")
	s.press("v").sees("Van-load of Tolvane hall", "Logged so far, 3: PM16, PM24, PM32")
	s.press("a").sees("3 labels").press("x").sees("3 of Tolvane hall are logged.", "What would you like to do?")
	require.Equal(t, []registry.Tag{"PM16", "PM24", "PM32"}, printed)
	require.Equal(t, "receipt 17", s.machine("PM16").Note)
	require.Equal(t, "Tolvane hall", s.machine("PM32").Donor)
	b, err := s.d.Base(s.d.ctx, "PM24")
	require.NoError(t, err)
	require.Equal(t, registry.Tag("PM16"), b.ArrivedWith)
	require.Equal(t, "Tolvane hall", b.Donor)

	s.press("v", "Mill", "Enter", "Enter", "Enter", "Enter", "har", "Enter", "K8", "Enter", "h", "Enter")
	s.sees("van-load of 1").press("v").sees("Logged so far, 1: PM4Z").press("a").sees("1 label. The last: printed")
	s.press("x").sees("1 of Mill is logged.")
	s.press("l").misses("receipt 17")
}

// It is the same line by line, and a day that is yet to come is refused.
func TestVanLoadLineByLine(t *testing.T) {
	s := sit(t, "QX")
	out := s.linesOf("v", "Tolvane hall", "2999-01-01", "2031-05-02", "", "", "ost", "B1", "h", "", "v", "x", "q")
	for _, said := range []string{"day 2999-01-01 is yet to come", "came on 2031-05-02", "van-load of 1: end it",
		"1 of Tolvane hall is logged."} {
		require.Contains(t, out, said)
	}
	require.Equal(t, "came on 2031-05-02", s.machine("PM16").Note)
}
