package turn

import (
	"errors"
	"os"

	"github.com/gofrs/flock"
)

// ErrHeld says that another program is at it.
var ErrHeld = errors.New("another program holds it")

// Hold says to other programs, until it is released, that this one is still at work between its turns on the
// registry in the file of this path. The system releases it for a program that was killed.
func Hold(path string) (release func(), err error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	path += "-turns"
	// Whoever may open the registry has to see that it is held.
	lock := flock.New(path, flock.SetPermissions(info.Mode().Perm()))
	switch ok, err := lock.TryLock(); {
	case err != nil:
		return nil, err
	case !ok:
		return nil, ErrHeld
	}
	return func() {
		_ = os.Remove(path) // where a file that is open cannot be removed, an empty one stays
		_ = lock.Unlock()
	}, nil
}
