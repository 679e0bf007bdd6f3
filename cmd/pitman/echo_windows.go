package main

import (
	"os"

	"golang.org/x/sys/windows"
)

// unseen lets nobody see what is typed at a terminal, until its end is called: what was typed meanwhile is
// thrown away then, since no question asked for it.
func unseen(in *os.File) (end func()) {
	console := windows.Handle(in.Fd())
	var before uint32
	if windows.GetConsoleMode(console, &before) != nil ||
		windows.SetConsoleMode(console, before&^windows.ENABLE_ECHO_INPUT) != nil {
		return func() {}
	}
	return func() {
		_ = windows.FlushConsoleInputBuffer(console)
		_ = windows.SetConsoleMode(console, before)
	}
}
