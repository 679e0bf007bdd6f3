// Command copy copies the tree to a folder, for tests to run there. Go takes a test from its cache if each
// file that it read has the same path, size and time as before. A clone gives each file the time at which it
// was made, so here the time follows from what the file holds: it is the same in each clone, and another as
// soon as a byte is. The copy is of the tree as it lies there, with or without a history, committed or not.
package main

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: go run .ci/copy.go TREE FOLDER")
		os.Exit(2)
	}
	if err := copyTree(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "copy:", err)
		os.Exit(1)
	}
}

func copyTree(from, to string) error {
	var folders []string
	err := filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		inside, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		target := filepath.Join(to, inside)
		switch {
		case d.Name() == ".git":
			if d.IsDir() {
				return filepath.SkipDir
			}
			return nil
		case d.IsDir():
			folders = append(folders, target)
			return os.MkdirAll(target, 0o755)
		case d.Type() == fs.ModeSymlink:
			return copyLink(path, target)
		case d.Type().IsRegular():
			return copyFile(path, target)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, folder := range folders { // what a folder holds counts by its names and their times
		if err := os.Chtimes(folder, time.Unix(0, 0), time.Unix(0, 0)); err != nil {
			return err
		}
	}
	return nil
}

func copyLink(path, target string) error {
	leads, err := os.Readlink(path)
	if err != nil {
		return err
	}
	return os.Symlink(leads, target)
}

func copyFile(path, target string) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	mode := fs.FileMode(0o644) // whatever the mask of whoever cloned
	if info.Mode()&0o100 != 0 {
		mode = 0o755
	}
	if err := os.WriteFile(target, text, mode); err != nil {
		return err
	}
	at := timeOf(text)
	return os.Chtimes(target, at, at)
}

// timeOf is a time in the years from 1970 to 2004, which two texts share as hardly ever as 60 bits of their
// digests.
func timeOf(text []byte) time.Time {
	sum := sha256.Sum256(text)
	return time.Unix(int64(binary.BigEndian.Uint32(sum[:4])>>2), int64(binary.BigEndian.Uint32(sum[4:8])%1e9))
}
