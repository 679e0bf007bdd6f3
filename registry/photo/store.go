package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image/jpeg"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"pitman/registry"
	"pitman/registry/whole"
)

// Folder is where a house keeps its pictures.
const Folder = "photos"

const ending = ".jpg"

// Store is the folder of stored pictures of a house. Several programs may use it at once: a file appears
// whole, under the name of what it holds, and is never changed.
type Store struct{ Dir string }

// In is the store of the house in dir.
func In(dir string) Store { return Store{filepath.Join(dir, Folder)} }

// IsName says whether a text has the form of a stored picture's name; so no name leads out of the folder.
func IsName(name string) bool {
	return len(name) == 64 && strings.Trim(name, "0123456789abcdef") == ""
}

// FileName is the name of a stored picture's file within the folder.
func FileName(name string) string { return name + ending }

// NameOfFile is the picture whose file has this name; ok is false for a file that is none of the store's.
func NameOfFile(file string) (name string, ok bool) {
	name, ok = strings.CutSuffix(file, ending)
	return name, ok && IsName(name)
}

func (s Store) path(name string) (string, error) {
	if !IsName(name) {
		return "", registry.Errorf(registry.NotFound,
			"there is no picture %q: choose one of those that are listed", name)
	}
	return filepath.Join(s.Dir, FileName(name)), nil
}

// Put keeps a picture and returns its name. One that is kept already is written again only where its file was
// damaged.
func (s Store) Put(p *Picture) (name string, err error) {
	name = p.Name()
	path, err := s.path(name)
	if err != nil {
		return "", err
	}
	if s.Check(name) == nil {
		return name, nil
	}
	if err := os.Mkdir(s.Dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return "", err
	}
	return name, whole.Write(path, p.Bytes, 0o600)
}

// Read returns the bytes of a stored picture, and refuses a damaged one.
func (s Store) Read(name string) ([]byte, error) {
	path, err := s.path(name)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, registry.Errorf(registry.NotFound,
			"the picture %s… is not in the house's %s folder: get it back from a backup", name[:8], Folder)
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	stored, err := io.ReadAll(io.LimitReader(f, MaxBytes))
	if err != nil {
		return nil, err
	}
	if nameOf(stored) != name {
		return nil, registry.Errorf(registry.Conflict,
			"the picture %s… is damaged: get %s/%s back from a backup", name[:8], Folder, FileName(name))
	}
	return stored, nil
}

// Check says what is wrong with a stored picture; nil when it is whole.
func (s Store) Check(name string) error {
	_, err := s.Read(name)
	return err
}

// ReadStored reads a picture that a house keeps, and refuses what no Take has written: a file that somebody
// put there by hand may hold anything.
func ReadStored(r io.Reader) ([]byte, error) {
	stored, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	if err := CheckStored(nameOf(stored), stored); err != nil {
		return nil, registry.Errorf(registry.Conflict,
			"the file is no picture as the house keeps them: add it anew from the picture it was made of")
	}
	return stored, nil
}

// CheckStored says whether bytes from elsewhere are the stored picture of this name, as Take would have
// written it: a JPEG file of no more than Longest dots a side that carries nothing beside its dots.
func CheckStored(name string, stored []byte) error {
	if nameOf(stored) != name {
		return fmt.Errorf("its content is not what its name says")
	}
	if len(stored) > MaxBytes || len(stored) < 2 || stored[0] != 0xff || stored[1] != 0xd8 {
		return errors.New("it is no stored picture")
	}
	size, err := kindJPEG.config(bytes.NewReader(stored))
	if err != nil || size.Width > Longest || size.Height > Longest {
		return errors.New("it is no stored picture")
	}
	if !onlyDots(stored) {
		return errors.New("it carries more than its dots")
	}
	return nil
}

// Names lists the stored pictures, in order.
func (s Store) Names() ([]string, error) {
	entries, err := os.ReadDir(s.Dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	names := []string{}
	for _, e := range entries {
		if name, ok := NameOfFile(e.Name()); ok && e.Type().IsRegular() {
			names = append(names, name)
		}
	}
	return names, nil
}

// Remove takes a picture out of the house for good.
func (s Store) Remove(name string) error {
	path, err := s.path(name)
	if err != nil {
		return err
	}
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Small is a stored picture at most so many dots long, as a JPEG file.
func (s Store) Small(name string, most int) ([]byte, error) {
	stored, err := s.Read(name)
	if err != nil {
		return nil, err
	}
	img, err := decode(kindJPEG, bytes.NewReader(stored))
	if err != nil {
		return nil, registry.Errorf(registry.Conflict, "the picture %s… cannot be read: take it anew",
			name[:8])
	}
	var small bytes.Buffer
	err = jpeg.Encode(&small, shrink(img, most), &jpeg.Options{Quality: quality})
	return small.Bytes(), err
}
