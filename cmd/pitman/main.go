// Command pitman keeps the registry of a workshop that takes in donated sewing machines.
//
// Each file is one noun of the work. A command reads its flags, calls the registry and prints; the rules live
// in pitman/registry.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/adrg/xdg"
)

func main() { os.Exit(theApp(time.Now).main()) }

// theApp is what runs in a process of its own.
func theApp(now func() time.Time) *app {
	return &app{in: os.Stdin, out: os.Stdout, err: os.Stderr, getenv: os.Getenv, dataDir: xdg.DataHome,
		now: now}
}

func (a *app) main() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // whoever presses Ctrl-C a second time does not want to wait
	return a.run(ctx, os.Args[1:])
}
