package desk

import (
	"testing"
	"time"

	"pitman/registry"
)

// A clock that stands more than a day before what was done here last is told on whatever page one is; one
// that is a little behind is not.
func TestAClockThatIsBehindIsToldOnEachPage(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B1234", registry.Hand)
	s.now = s.now.Add(-23 * time.Hour)
	s.misses("set the clock right")
	s.now = s.now.Add(-25 * time.Hour)
	s.restart("QX")
	s.sees("set the clock right")
	s.press("f").sees("set the clock right")
	s.press("Esc").scan(string(m.Tag)).sees("Ostermann", "set the clock right")
}
