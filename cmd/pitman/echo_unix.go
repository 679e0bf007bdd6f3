//go:build unix && !aix && !solaris

package main

import (
	"os"

	"golang.org/x/sys/unix"
)

// unseen lets nobody see what is typed at a terminal, until its end is called: what was typed meanwhile is
// thrown away then, since no question asked for it. Ctrl-C goes on ending what waits.
func unseen(in *os.File) (end func()) {
	fd := int(in.Fd())
	before, err := unix.IoctlGetTermios(fd, getTermios)
	if err != nil {
		return func() {}
	}
	quiet := *before
	quiet.Lflag &^= unix.ECHO
	quiet.Lflag |= unix.ICANON | unix.ISIG
	if unix.IoctlSetTermios(fd, setTermios, &quiet) != nil {
		return func() {}
	}
	return func() { _ = unix.IoctlSetTermios(fd, setTermiosFlushed, before) }
}
