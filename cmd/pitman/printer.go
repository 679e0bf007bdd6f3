package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"pitman/registry"
)

// canPrint refuses a printer's name where the system has no print queue that takes one, before any work is
// done.
func canPrint(name, system string) error {
	if system == "windows" {
		return registry.Errorf(registry.Conflict,
			"printing by name needs a print queue that Windows does not have: write a PDF, open it, and "+
				"print it at 100 %%")
	}
	if strings.HasPrefix(name, "-") || strings.ContainsAny(name, " \t\n/") {
		return registry.Errorf(registry.Invalid,
			"printer %q is no name of a print queue: type it as the system lists it, without blanks", name)
	}
	if _, err := exec.LookPath("lp"); err != nil {
		return registry.Errorf(registry.Conflict,
			"printer %s cannot be reached: this system has no print queue (lp is not installed); write a "+
				"PDF and print that", name)
	}
	return nil
}

func canPrintHere(name string) error { return canPrint(name, runtime.GOOS) }

// queueAnswers is how long a print queue may take to answer; what it is given it keeps and prints later.
const queueAnswers = 10 * time.Second

// sendToPrinter writes a file and hands it to the system's print queue, at its own size. It is gone once the
// queue has it.
func sendToPrinter(ctx context.Context, name, job string, write func(file string) error) error {
	if err := canPrintHere(name); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "pitman-print")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	file := filepath.Join(folder, job)
	if err := write(file); err != nil {
		return err
	}
	// The house waits for the queue's answer, and whoever else writes in it waits for the house.
	ctx, stop := context.WithTimeout(ctx, queueAnswers)
	defer stop()
	how := "print-scaling=none"
	if filepath.Ext(job) != ".pdf" {
		how = "raw" // the printer's own language: no filter between
	}
	lp := exec.CommandContext(ctx, "lp", "-d", name, "-o", how, file)
	lp.WaitDelay = time.Second // what it started itself may hold on to its output
	out, err := lp.CombinedOutput()
	if ctx.Err() != nil && err != nil {
		err = fmt.Errorf("the print queue does not answer")
	}
	if err != nil {
		return registry.Errorf(registry.Conflict,
			"printer %s did not take the labels (%s): nothing counts as printed; check its name and "+
				"that it is on",
			name, strings.TrimSpace(fmt.Sprintf("%v %s", err, bytes.TrimSpace(out))))
	}
	return nil
}
