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

func main() { os.Exit(mainWith(time.Now)) }

func mainWith(now func() time.Time) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // whoever presses Ctrl-C a second time does not want to wait
	a := &app{in: os.Stdin, out: os.Stdout, err: os.Stderr, getenv: os.Getenv, dataDir: xdg.DataHome,
		now: now}
	return a.run(ctx, os.Args[1:])
}
