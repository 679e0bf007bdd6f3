//go:build linux

package main

import (
	"fmt"
	"os"
	"testing"
	"time"

	"pitman/registry/registrytest/lacking"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// terminal is one as a window has it: what is typed goes into the window's side, what is shown comes out.
func terminal(t *testing.T) (window, program *os.File) {
	window, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	lacking.Granted(t, err, "a terminal")
	t.Cleanup(func() { window.Close() })
	require.NoError(t, unix.IoctlSetPointerInt(int(window.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(window.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	program, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	t.Cleanup(func() { program.Close() })
	return window, program
}

// What is typed while a PIN is tried is neither shown nor taken for the answer to what is asked next; what is
// typed afterwards is both.
func TestTypingWhileAPINIsTried(t *testing.T) {
	window, program := terminal(t)
	end := unseen(program)
	_, err := window.WriteString("482911\n")
	require.NoError(t, err)
	waiting := func(f *os.File) int {
		n, err := unix.IoctlGetInt(int(f.Fd()), unix.TIOCINQ)
		require.NoError(t, err)
		return n
	}
	require.Eventually(t, func() bool { return waiting(program) > 0 }, time.Second, time.Millisecond)
	assert.Zero(t, waiting(window), "it was shown")
	end()
	assert.Zero(t, waiting(program), "it would answer the next question")
	_, err = window.WriteString("yes\n")
	require.NoError(t, err)
	require.Eventually(t, func() bool { return waiting(program) == len("yes\n") && waiting(window) > 0 },
		time.Second, time.Millisecond)
}
