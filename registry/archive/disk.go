package archive

import (
	"errors"
	"io/fs"
	"syscall"

	"pitman/registry"
)

// DiskError turns what a disk or its owner can refuse into a sentence that says what to do about it.
func DiskError(err error, path string) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return registry.Errorf(registry.Conflict,
			"the disk is full, %s was not written: make room, or name a file on another disk", path)
	case errors.Is(err, syscall.EIO):
		return registry.Errorf(registry.Conflict,
			"the disk failed at %s (%v): check it, or name another one", path, err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return registry.Errorf(registry.Conflict,
			"%s cannot be written: ask for write access to its folder, or name another place", path)
	case errors.Is(err, fs.ErrNotExist):
		return registry.Errorf(registry.Invalid,
			"the folder of %s is not there: make it, or name another place", path)
	case errors.Is(err, syscall.ENOTDIR):
		return registry.Errorf(registry.Invalid,
			"a file stands where the folder for %s should be: name another place", path)
	}
	return err
}

// RootCause is the innermost error, which says what happened and not where.
func RootCause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
