package main

import (
	"os"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	if os.Getenv(deskWord) != "" {
		os.Exit(mainWith(time.Now))
	}
	testscript.Main(m, map[string]func(){
		"pitman": func() { os.Exit(mainWith(scriptClock)) },
	})
}

// scriptClock stands still, at a time that a script may set.
func scriptClock() time.Time {
	if at, err := time.Parse(time.RFC3339, os.Getenv("SCRIPT_NOW")); err == nil {
		return at
	}
	return time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
}

// The scripts run whole commands, as a person would: what is typed, what comes out, and what it leaves behind.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "../../testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("PITMAN_HOUSE", env.Getenv("WORK")+"/house")
			env.Setenv("PITMAN_BY", "QX")
			env.Setenv("XDG_DATA_HOME", env.Getenv("WORK")+"/data")
			return nil
		},
	})
}
