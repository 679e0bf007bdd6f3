//go:build !windows

package whole

import (
	"errors"
	"io/fs"
	"os"

	"github.com/google/renameio/v2"
)

// File is on its way: CloseAtomicallyReplace gives it its name, Cleanup throws away what has none yet.
type File = renameio.PendingFile

// Create begins a file. While it has no name it lies in temp, on the same disk, or beside its place where
// temp is "".
func Create(path, temp string, mode fs.FileMode) (*File, error) {
	options := []renameio.Option{renameio.WithPermissions(mode)}
	if temp != "" {
		options = append(options, renameio.WithTempDir(temp))
	}
	return renameio.NewPendingFile(path, options...)
}

// Write replaces a file; one that is there keeps its permissions.
func Write(path string, text []byte, mode fs.FileMode) error {
	return renameio.WriteFile(path, text, mode)
}

// SyncFolder makes a new name in a folder last.
func SyncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// RemoveFolder removes a folder and all in it; one that is not there is no fault.
func RemoveFolder(folder string) error { return os.RemoveAll(folder) }
