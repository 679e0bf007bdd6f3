package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"pitman/registry/house"
)

func TestMain(m *testing.M) {
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

// soundHouses verifies whatever houses a script leaves behind. One that does not open was broken by the script for a purpose.
func soundHouses(env *testscript.Env) {
	found, err := filepath.Glob(filepath.Join(env.Getenv("WORK"), "*", house.DBFile))
	if err != nil {
		env.T().Fatal(err)
	}
	for _, path := range found {
		h, err := house.Open(filepath.Dir(path))
		if err != nil {
			continue
		}
		db, err := h.Registry()
		if err != nil {
			continue
		}
		faults, err := h.Verify(context.Background(), db)
		if err != nil || len(faults) > 0 {
			env.T().Fatal("the house ", filepath.Base(h.Dir), " is not sound after the script: ", err, faults)
		}
		if err := db.Close(); err != nil {
			env.T().Fatal(err)
		}
	}
}

// The scripts run whole commands, as a person would: what is typed, what comes out, and what it leaves behind.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "../../testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"forge": forge},
		Setup: func(env *testscript.Env) error {
			env.Setenv("PITMAN_HOUSE", env.Getenv("WORK")+"/house")
			env.Setenv("PITMAN_BY", "QX")
			env.Setenv("GORACE", "atexit_sleep_ms=0") // else each command sleeps a second at its end under the race detector
			env.Setenv("XDG_DATA_HOME", env.Getenv("WORK")+"/data")
			env.Defer(func() { soundHouses(env) })
			return nil
		},
	})
}
