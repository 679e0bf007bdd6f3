// Package refusal is what is said where SQLite cannot do its work.
package refusal

import (
	"errors"
	"syscall"

	"github.com/mattn/go-sqlite3"

	"pitman/registry"
	"pitman/registry/sqlite/turn"
)

// ErrReadOnly is found in an error of SQLite that a medium which cannot be written gives.
var ErrReadOnly = errors.New("read-only")

// readOnly is a refusal in which ErrReadOnly is found, and not read.
type readOnly struct{ error }

func (e readOnly) Unwrap() error { return e.error }

func (e readOnly) Is(target error) bool { return target == ErrReadOnly }

// Explain turns what the disk and the neighbours can do to SQLite into a sentence that says what to do about
// it. name is that of the file.
func Explain(err error, name string) error {
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return err
	}
	full := e.SystemErrno == syscall.ENOSPC || e.SystemErrno == syscall.EDQUOT ||
		e.SystemErrno == syscall.EFBIG
	switch e.Code {
	case sqlite3.ErrIoErr:
		if !full {
			return registry.Errorf(registry.Conflict,
				"the disk failed under %s (%v), nothing was written: check the disk and its free space, "+
					"then do it again", name, e)
		}
		fallthrough
	case sqlite3.ErrFull:
		return registry.Errorf(registry.Conflict,
			"the disk is full, nothing was written: make room beside %s and do it again", name)
	case sqlite3.ErrReadonly, sqlite3.ErrCantOpen, sqlite3.ErrPerm:
		return readOnly{registry.Errorf(registry.Conflict,
			"%s or its folder cannot be written, nothing was changed: ask its owner for write access, or "+
				"copy the house elsewhere", name)}
	case sqlite3.ErrBusy, sqlite3.ErrLocked:
		return registry.Errorf(registry.Conflict,
			"%s was in use for over %.0f seconds, nothing was written: see whether another program "+
				"that uses it is stuck, then do it again", name, turn.Busy.Seconds())
	case sqlite3.ErrCorrupt, sqlite3.ErrNotADB:
		return registry.Errorf(registry.Conflict,
			"%s is damaged or not a registry, or its disk fails to read it (%v): check the disk; where that "+
				"is well, restore the latest backup", name, e)
	case sqlite3.ErrNomem:
		return registry.Errorf(registry.Conflict,
			"there is not enough memory to go on (%v): end other programs, then do it again", e)
	}
	return err
}
