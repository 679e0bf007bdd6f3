package lacking_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/registrytest/lacking"
)

// ended notes how a test would have ended.
type ended struct {
	testing.TB
	how string
}

func (e *ended) Helper()               {}
func (e *ended) Fatalf(string, ...any) { e.note("failed") }
func (e *ended) Skipf(string, ...any)  { e.note("skipped") }

func (e *ended) note(how string) {
	if e.how == "" { // the first one would have ended it
		e.how = how
	}
}

func TestWhatLacksFailsWhereAllIsInstalled(t *testing.T) {
	for ci, lacks := range map[string]string{"": "skipped", "true": "failed"} {
		t.Setenv("CI", ci)
		for want, ask := range map[string]func(testing.TB){
			lacks: func(t testing.TB) { lacking.Program(t, "no-such-program", "nothing") },
			"":    func(t testing.TB) { lacking.Program(t, "go", "go") },
		} {
			e := &ended{TB: t}
			ask(e)
			assert.Equal(t, want, e.how, "CI=%s", ci)
		}
		e := &ended{TB: t}
		lacking.Granted(e, nil, "a mount")
		assert.Empty(t, e.how)
		lacking.Granted(e, errors.New("operation not permitted"), "a mount")
		assert.Equal(t, "skipped", e.how, "no run of tests can install a right")
	}
}
