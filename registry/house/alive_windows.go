package house

import "os"

// alive says whether a process of this number runs.
func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err == nil {
		_ = p.Release()
	}
	return err == nil
}
