//go:build !windows

package whole

import (
	"errors"
	"syscall"
)

// Alive says whether the process of this number runs, which may still be writing what it began.
func Alive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}
