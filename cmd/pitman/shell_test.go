package main

import (
	"context"
	"errors"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
	"mvdan.cc/sh/v3/expand"
	"mvdan.cc/sh/v3/interp"
	"mvdan.cc/sh/v3/syntax"
)

// shellWithin runs `sh FILE [WORD…]` or `sh -c TEXT` of a script, for loops and pipes: its pitman commands
// run within the test like those of the script itself; only what has to be a process of its own says exec sh.
func shellWithin(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) == 0 {
		ts.Fatalf("usage: sh FILE [WORD…], or sh -c TEXT")
	}
	text, words := "", args[1:]
	if args[0] == "-c" {
		text, words = args[1], args[2:]
	} else {
		text = ts.ReadFile(args[0])
	}
	file, err := syntax.NewParser().Parse(strings.NewReader(text), args[0])
	ts.Check(err)
	runner, err := interp.New(
		interp.Dir(ts.MkAbs(".")),
		interp.Env(expand.ListEnviron(environ(ts)...)),
		interp.StdIO(nil, ts.Stdout(), ts.Stderr()),
		interp.Params(append([]string{"--"}, words...)...),
		interp.ExecHandlers(pitmanWithin))
	ts.Check(err)
	err = runner.Run(context.Background(), file)
	var status interp.ExitStatus
	if err != nil && !errors.As(err, &status) {
		ts.Fatalf("%v", err)
	}
	asExpected(ts, neg, err != nil)
}

// environ is what a program that the script starts would find in its environment. Scripts tell a value by its
// name alone, so the names are those that the script began with, and those that scripts set.
func environ(ts *testscript.TestScript) []string {
	var list []string
	for _, name := range append(ts.Value(environNames{}).([]string), "SCRIPT_NOW", "PITMAN_PIN_FILE") {
		if value := ts.Getenv(name); value != "" {
			list = append(list, name+"="+value)
		}
	}
	return list
}

// environNames is the key of the names that a script's environment began with.
type environNames struct{}

// pitmanWithin takes the pitman commands of a shell out to run them within the test.
func pitmanWithin(next interp.ExecHandlerFunc) interp.ExecHandlerFunc {
	return func(ctx context.Context, args []string) error {
		if args[0] != "pitman" || startAll {
			return next(ctx, args)
		}
		at := interp.HandlerCtx(ctx)
		folder.Lock()
		defer folder.Unlock()
		if err := os.Chdir(at.Dir); err != nil {
			return err
		}
		getenv := func(name string) string { return at.Env.Get(name).String() }
		if status := appWithin(getenv, at.Stdout, at.Stderr).run(ctx, args[1:]); status != 0 {
			return interp.ExitStatus(status)
		}
		return nil
	}
}
