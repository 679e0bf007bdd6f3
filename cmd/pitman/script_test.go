package main

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"log"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/pin/hash"
)

// TestMain puts the whole program on the path, as pitman, for the tests that start it. It is this very file,
// which is the program when it goes by that name.
func TestMain(m *testing.M) {
	if strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe") == "pitman" {
		a := theApp(func() time.Time { return scriptTime(os.Getenv("SCRIPT_NOW")) })
		a.pinCost, a.sleep = cheapPIN, noSleep
		os.Exit(a.main())
	}
	name := "pitman"
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	bin, err := os.MkdirTemp("", "pitman-bin")
	if err == nil {
		err = install(filepath.Join(bin, name))
	}
	if err != nil {
		log.Fatal(err)
	}
	os.Setenv("PATH", bin+string(filepath.ListSeparator)+os.Getenv("PATH"))
	status := m.Run()
	if err := os.RemoveAll(bin); err != nil {
		log.Print(err)
	}
	os.Exit(status)
}

func install(path string) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	program, err := os.ReadFile(self)
	if err != nil {
		return err
	}
	return os.WriteFile(path, program, 0o755)
}

// cheapPIN is worked out in no time.
var cheapPIN = hash.Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}

// noSleep goes on at once: the clock of a script stands still, so whoever comes too early is told so.
func noSleep(context.Context, time.Duration) error { return nil }

// scriptTime stands still, at a time that a script may set.
func scriptTime(set string) time.Time {
	if at, err := time.Parse(time.RFC3339, set); err == nil {
		return at
	}
	return time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
}

// startAll starts the program for every command of a script, as NIGHTLY does. On each change most commands
// run within the test, in a fraction of the time: only `exec pitman` starts the program.
var startAll = os.Getenv("NIGHTLY") != ""

// folder is held while a command runs within the test: a process has one working folder.
var folder sync.Mutex

// runWithin runs one command of a script as the program would: a new app, with nothing of this process but
// what the script gives it. It is at no terminal and reads nothing; a command with input is started with
// exec.
func runWithin(ts *testscript.TestScript, neg bool, args []string) {
	var failed bool
	if startAll {
		failed = ts.Exec("pitman", args...) != nil
	} else {
		folder.Lock()
		defer folder.Unlock()
		ts.Check(os.Chdir(ts.MkAbs(".")))
		failed = appWithin(ts.Getenv, ts.Stdout(), ts.Stderr()).run(context.Background(), args) != 0
	}
	asExpected(ts, neg, failed)
}

// appWithin is the program without a terminal and with nothing to read.
func appWithin(getenv func(string) string, out, errs io.Writer) *app {
	return &app{in: strings.NewReader(""), out: out, err: errs, getenv: getenv,
		dataDir: getenv("XDG_DATA_HOME"), pinCost: cheapPIN, sleep: noSleep,
		now: func() time.Time { return scriptTime(getenv("SCRIPT_NOW")) }}
}

func asExpected(ts *testscript.TestScript, neg, failed bool) {
	switch {
	case failed && !neg:
		ts.Fatalf("unexpected command failure")
	case neg && !failed:
		ts.Fatalf("unexpected command success")
	}
}

// soundHouses verifies every house that a script leaves behind, in whatever folder. One that the script
// breaks for a purpose is named by it with the command broken, and has to be broken.
func soundHouses(env *testscript.Env, broken map[string]bool) {
	left := map[string]bool{}
	err := filepath.WalkDir(env.Getenv("WORK"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Name() == archive.DBFile {
			left[filepath.Dir(path)] = true
		}
		return err
	})
	if err != nil {
		env.T().Fatal(err)
	}
	for dir := range left {
		if faults, err := faultsIn(dir); (err != nil || len(faults) > 0) != broken[dir] {
			env.T().Fatal("the house in ", dir, " after the script: broken on purpose ", broken[dir],
				", and verify finds ", err, faults)
		}
	}
	for dir := range broken {
		if !left[dir] {
			env.T().Fatal("there is no house in ", dir, ", which the script says that it broke")
		}
	}
}

func faultsIn(dir string) ([]registry.Fault, error) {
	h, err := house.Open(dir)
	if err != nil {
		return nil, err
	}
	db, err := h.Registry()
	if err != nil {
		return nil, err
	}
	faults, err := h.Verify(context.Background(), db)
	return faults, errors.Join(err, db.Close())
}

// A command within the test reads nothing, so what a script gives to read goes to a program that was started.
var inputWithin = regexp.MustCompile(`(?m)^(\[.*?\] )?(stdin|ttyin) .*\n(\[.*?\] )?(! )?pitman .*`)

// brokenHouses is the key of the folders that a script names with broken.
type brokenHouses struct{}

// The scripts run whole commands, as a person would: what is typed, what comes out, and what it leaves
// behind.
func TestScripts(t *testing.T) {
	dir, err := filepath.Abs("../../testdata/script") // the working folder changes with each command
	require.NoError(t, err)
	scripts, err := filepath.Glob(filepath.Join(dir, "*.txt"))
	require.NoError(t, err)
	for _, script := range scripts {
		text, err := os.ReadFile(script)
		require.NoError(t, err)
		assert.Empty(t, inputWithin.FindString(string(text)), "%s: start it with exec pitman",
			filepath.Base(script))
	}
	here, err := os.Getwd()
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.Chdir(here)) })
	testscript.Run(t, testscript.Params{
		Dir: dir,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"pitman": runWithin,
			"sh":     shellWithin,
			"forge":  forge,
			"broken": func(ts *testscript.TestScript, _ bool, houses []string) {
				for _, dir := range houses {
					ts.Value(brokenHouses{}).(map[string]bool)[ts.MkAbs(dir)] = true
				}
			},
		},
		Setup: func(env *testscript.Env) error {
			env.Setenv("PITMAN_HOUSE", env.Getenv("WORK")+"/house")
			env.Setenv("PITMAN_BY", "QX")
			// else each program sleeps a second at its end under the race detector
			env.Setenv("GORACE", "atexit_sleep_ms=0")
			env.Setenv("XDG_DATA_HOME", env.Getenv("WORK")+"/data")
			var names []string
			for _, pair := range env.Vars {
				name, _, _ := strings.Cut(pair, "=")
				names = append(names, name)
			}
			env.Values[environNames{}] = names
			broken := map[string]bool{}
			env.Values[brokenHouses{}] = broken
			env.Defer(func() { soundHouses(env, broken) })
			return nil
		},
	})
}
