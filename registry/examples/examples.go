// Package examples has a house's own pictures that stand beside what is asked: how a test point looks when it
// is right, how a job is done, where the head or base of a bed pattern is measured. They are files of the
// house, like its lists, by the names that stand in those.
package examples

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/photo"
	"pitman/registry/stock"
	"pitman/registry/whole"
)

// Folder is where a house keeps them.
const Folder = "examples"

const (
	Point = "point" // of the function test
	Job   = "job"   // at the bench
	Bed   = "bed"   // a pattern of beds
)

// Kinds are what a picture can stand beside.
var Kinds = []string{Point, Job, Bed}

// Example is a picture that stands beside something.
type Example struct {
	Of   string `json:"of"`
	Name string `json:"name"`
	File string `json:"file"` // its name within the folder
}

// Examples are those of one house.
type Examples struct {
	Dir    string // the house's folder of them
	Points func() ([]bench.TestPoint, error)
	Jobs   func() ([]bench.BenchJob, error)
	Beds   func() ([]stock.BedPattern, error)
}

// In are the examples of the house in dir, by its lists.
func In(dir string, b *bench.Lists, s *stock.Lists) Examples {
	return Examples{filepath.Join(dir, Folder), b.Points, b.Jobs, s.Beds}
}

// names are what the house's lists have of a kind.
func (e Examples) names(of string) ([]string, error) {
	switch of {
	case Point:
		return keys(e.Points)
	case Job:
		return keys(e.Jobs)
	default:
		return keys(e.Beds)
	}
}

func keys[T interface{ Key() string }](read func() ([]T, error)) (names []string, err error) {
	rows, err := read()
	for _, row := range rows {
		names = append(names, row.Key())
	}
	return names, err
}

// Parse reads what a picture is to stand beside: something that the house's lists have.
func (e Examples) Parse(of, name string) (Example, error) {
	of, err := registry.OneOf("kind", of, Kinds)
	if err != nil {
		return Example{}, err
	}
	known, err := e.names(of)
	if err != nil {
		return Example{}, err
	}
	if name, err = registry.OneOf(of, name, known); err != nil {
		return Example{}, err
	}
	return made(of, name), nil
}

func made(of, name string) Example { return Example{of, name, of + " " + plain(name) + ".jpg"} }

// plain makes a name that every disk takes of one that a list has; letters of all scripts stay.
func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`/\:*?"<>|.`, r) {
			return '-'
		}
		return r
	}, name)
}

// IsFile says whether a file of the folder has such a name.
func IsFile(name string) bool {
	of, rest, ok := strings.Cut(name, " ")
	rest, jpg := strings.CutSuffix(rest, ".jpg")
	return ok && jpg && rest != "" && len(name) <= 255 && slices.Contains(Kinds, of) && plain(rest) == rest
}

// Of is the picture beside something; ok is false where there is none.
func (e Examples) Of(of, name string) (x Example, ok bool) {
	x = made(of, strings.ToLower(strings.TrimSpace(name)))
	info, err := os.Stat(filepath.Join(e.Dir, x.File))
	return x, err == nil && info.Mode().IsRegular()
}

// Put keeps a picture; the one that stood there goes.
func (e Examples) Put(x Example, p *photo.Picture) error {
	if err := os.Mkdir(e.Dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return whole.Write(filepath.Join(e.Dir, x.File), p.Bytes, 0o600)
}

// Remove takes a picture away.
func (e Examples) Remove(x Example) error {
	err := os.Remove(filepath.Join(e.Dir, x.File))
	if errors.Is(err, fs.ErrNotExist) {
		return registry.Errorf(registry.NotFound,
			"no picture stands beside the %s %q: choose one of those that are listed", x.Of, x.Name)
	}
	return err
}

// Read returns the bytes of a picture by the name of its file.
func (e Examples) Read(file string) ([]byte, error) {
	var f *os.File
	err := fs.ErrNotExist
	if IsFile(file) { // no other name is looked for
		f, err = os.Open(filepath.Join(e.Dir, file))
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil, registry.Errorf(registry.NotFound,
			"there is no picture %q: choose one of those that are listed", file)
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return photo.ReadStored(f)
}

// List has all that stand beside something in the house's lists, in their order.
func (e Examples) List() (all []Example, err error) {
	all = []Example{}
	for _, of := range Kinds {
		names, err := e.names(of)
		if err != nil {
			return all, err
		}
		for _, name := range names {
			if x, ok := e.Of(of, name); ok {
				all = append(all, x)
			}
		}
	}
	return all, nil
}
