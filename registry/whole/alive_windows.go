package whole

import "os"

// Alive says whether the process of this number runs, which may still be writing what it began.
func Alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err == nil {
		_ = p.Release()
	}
	return err == nil
}
