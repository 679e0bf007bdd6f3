//go:build !windows

package house

import (
	"errors"
	"syscall"
)

// alive says whether a process of this number runs.
func alive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}
