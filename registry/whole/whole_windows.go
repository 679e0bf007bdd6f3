package whole

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// File is on its way: CloseAtomicallyReplace gives it its name, Cleanup throws away what has none yet.
type File struct {
	*os.File
	path string
	done bool
}

// Create begins a file. While it has no name it lies in temp, on the same disk, or beside its place where
// temp is "". Windows has no modes: who may read it follows from its folder.
func Create(path, temp string, _ fs.FileMode) (*File, error) {
	if temp == "" {
		temp = filepath.Dir(path)
	}
	f, err := os.CreateTemp(temp, "."+filepath.Base(path)+"*")
	if err != nil {
		return nil, err
	}
	return &File{File: f, path: path}, nil
}

// CloseAtomicallyReplace gives the file its name: os.Rename replaces what has it.
func (f *File) CloseAtomicallyReplace() error {
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), f.path); err != nil {
		return err
	}
	f.done = true
	return nil
}

// Cleanup throws the file away, unless it has its name.
func (f *File) Cleanup() error {
	if f.done {
		return nil
	}
	f.Close()
	return os.Remove(f.Name())
}

// Write replaces a file.
func Write(path string, text []byte, mode fs.FileMode) error {
	f, err := Create(path, "", mode)
	if err != nil {
		return err
	}
	defer f.Cleanup()
	if _, err := f.Write(text); err != nil {
		return err
	}
	return f.CloseAtomicallyReplace()
}

// SyncFolder has nothing to do: Windows keeps names in its journal.
func SyncFolder(string) error { return nil }

// RemoveFolder removes a folder and all in it, file by file: the call that os.RemoveAll makes is unknown to
// Windows before version 10, and to programs that stand in for Windows. One that is not there is no fault.
func RemoveFolder(folder string) error {
	var names []string
	err := filepath.WalkDir(folder, func(path string, _ fs.DirEntry, err error) error {
		names = append(names, path)
		return err
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for i := len(names) - 1; i >= 0; i-- {
		err = errors.Join(err, os.Remove(names[i]))
	}
	return err
}
