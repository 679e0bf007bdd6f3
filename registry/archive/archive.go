// Package archive is the room of a house's files as they are carried away: which files a house has, how they
// are packed into one that every system can open, sealed to those who may read it, and read back without
// trust in who wrote it. It knows the registry as a file only; what stands in it is judged by the house.
package archive

import (
	"archive/tar"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/examples"
	"pitman/registry/lists"
	"pitman/registry/neighbours"
	"pitman/registry/photo"
	"pitman/registry/sqlite"
)

// A backup is a gzipped tar file, which every system can open without pitman: the house's own files by the
// names they have in the house, and last a manifest with their checksums. A tar file is read from front to
// back, so an archive from elsewhere cannot make the reader hold more than one entry's header.

// What lies in a house folder.
const (
	DBFile     = "pitman.db"
	ConfigFile = "house.toml"
	TablesDir  = "tables"
)

const manifestFile = "manifest.json"

// Manifest says what a backup holds. It stands last in the archive, so an archive that was cut short has
// none.
type Manifest struct {
	Format  int       `json:"format"`
	At      time.Time `json:"at"`
	House   string    `json:"house"`
	Letters string    `json:"letters"`
	sqlite.Summary
	chain.Head
	Files []archived `json:"files"`
}

// Format is the form of the manifest that this program writes.
const Format = 1

type archived struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Bounds for an archive from elsewhere. A registry packs about tenfold; two hundredfold is an archive made to
// fill a disk.
const (
	maxFiles    = 250_000  // nearly all of them pictures
	MaxText     = 64 << 20 // bytes of a house.toml, table or list
	maxManifest = 64 << 20
	maxPacked   = 200
	freeOfRatio = 64 << 20 // a small house is mostly empty pages, which pack to nothing
)

// folders of a house whose files belong into a backup.
var folders = []string{TablesDir, lists.Folder, photo.Folder, neighbours.Folder, examples.Folder}

// HouseFiles names the house's own files beside the registry: house.toml, tables and lists, whoever put them
// there, and pictures. Hidden ones are other programs' notes.
func HouseFiles(dir string) ([]string, error) {
	names := []string{}
	if _, err := os.Stat(filepath.Join(dir, ConfigFile)); err == nil {
		names = append(names, ConfigFile)
	}
	for _, folder := range folders {
		entries, err := os.ReadDir(filepath.Join(dir, folder))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		for _, entry := range entries {
			name := path.Join(folder, entry.Name())
			// a link to a table on a shared disk counts as the table
			info, err := os.Stat(filepath.Join(dir, name))
			if err != nil || !info.Mode().IsRegular() || !Belongs(name) {
				continue
			}
			names = append(names, name)
		}
	}
	return names, nil
}

// Belongs says whether a file of this name is part of a house.
func Belongs(name string) bool {
	if name == DBFile || name == ConfigFile {
		return true
	}
	folder, file, ok := strings.Cut(name, "/")
	if ok && folder == photo.Folder {
		_, ours := photo.NameOfFile(file)
		return ours
	}
	if ok && folder == neighbours.Folder {
		return neighbours.IsFile(file)
	}
	if ok && folder == examples.Folder {
		return examples.IsFile(file)
	}
	return ok && slices.Contains(folders, folder) && filepath.IsLocal(file) &&
		!strings.HasPrefix(file, ".") && !strings.ContainsAny(file, "/\\:\x00")
}

// Pack writes the registry copy and the house's other files to w, then the manifest.
func Pack(ctx context.Context, w io.Writer, dir, registryCopy string, m Manifest) error {
	zipped := gzip.NewWriter(w)
	out := tar.NewWriter(zipped)
	add := func(name string, size int64, content io.Reader) error {
		header := &tar.Header{Typeflag: tar.TypeReg, Name: name, Size: size, Mode: 0o600,
			ModTime: m.At.Truncate(time.Second)}
		if err := out.WriteHeader(header); err != nil {
			return err
		}
		sum := sha256.New()
		if _, err := io.Copy(io.MultiWriter(out, sum), WithContext(ctx, content)); err != nil {
			return err
		}
		m.Files = append(m.Files, archived{name, size, hex.EncodeToString(sum.Sum(nil))})
		return nil
	}
	names, err := HouseFiles(dir)
	if err != nil {
		return err
	}
	for _, name := range names {
		text, err := ReadBounded(filepath.Join(dir, name), MaxText)
		if err != nil {
			return err
		}
		if err := add(name, int64(len(text)), strings.NewReader(string(text))); err != nil {
			return err
		}
	}
	f, err := os.Open(registryCopy)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if err := add(DBFile, info.Size(), f); err != nil {
		return err
	}
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	if err := add(manifestFile, int64(len(text)), strings.NewReader(string(text))); err != nil {
		return err
	}
	return errors.Join(out.Close(), zipped.Close())
}

// ReadSmall reads a file that people write by hand, such as house.toml. A huge one is refused before it fills
// the memory.
func ReadSmall(name string) ([]byte, error) { return ReadBounded(name, 1<<20) }

// ReadBounded reads a file of so many bytes at most.
func ReadBounded(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, most+1))
	if int64(len(text)) > most {
		return nil, registry.Errorf(registry.Invalid,
			"%s is larger than %d MiB, which nothing is that people write by hand: name another file, or "+
				"move this one away", name, most>>20)
	}
	return text, err
}

// Unpack reads a backup into an empty folder, and refuses one that is not whole, or holds what no backup
// holds.
func Unpack(ctx context.Context, file, dir string, keys []age.Identity) (*Manifest, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	shown := filepath.Base(file)
	damaged := func(err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return registry.Errorf(registry.Invalid,
			"%s is no backup of pitman, or is damaged (%v): use another backup, nothing was restored", shown,
			err)
	}
	root, err := os.OpenRoot(dir) // no name leads out of the folder, whatever the checks below miss
	if err != nil {
		return nil, err
	}
	defer root.Close()
	for _, folder := range folders {
		if err := root.Mkdir(folder, 0o700); err != nil {
			return nil, err
		}
	}
	plain, err := Opened(f, keys)
	if registry.CodeOf(err) != "" {
		return nil, err
	}
	if err != nil {
		return nil, damaged(err)
	}
	zipped, err := gzip.NewReader(WithContext(ctx, plain))
	if err != nil {
		return nil, damaged(err)
	}
	b := &reading{shown: shown, room: max(info.Size()*maxPacked, freeOfRatio), damaged: damaged}
	return b.entries(zipped, func(header *tar.Header, in io.Reader) (string, error) {
		sum, err := unpackFile(root, header, in)
		if err != nil && DiskError(err, file) == err {
			err = damaged(err)
		}
		return sum, err
	})
}

// reading is a backup that is being read, by whatever takes its files.
type reading struct {
	shown   string
	room    int64 // bytes that may still come out of it
	damaged func(error) error
}

// entries reads it to its end. take gets each file and gives its checksum.
func (b *reading) entries(unzipped io.Reader,
	take func(*tar.Header, io.Reader) (sum string, err error)) (*Manifest, error) {
	in := tar.NewReader(unzipped)
	found := map[string]archived{}
	for {
		header, err := in.Next()
		switch {
		case err == io.EOF:
			return nil, b.damaged(errors.New("its end is missing"))
		case err != nil:
			return nil, b.damaged(err)
		case header.Typeflag != tar.TypeReg || header.Name != manifestFile && !Belongs(header.Name):
			return nil, registry.Errorf(registry.Invalid, "%s holds %q, which no backup holds: do not trust "+
				"it, nothing was restored", b.shown, header.Name)
		case len(found) == maxFiles || header.Size > b.room || header.Name != DBFile && header.Size > MaxText:
			return nil, registry.Errorf(registry.Invalid,
				"%s unpacks to far more than a house holds, at %q: do not trust it, nothing was "+
					"restored", b.shown, header.Name)
		case found[header.Name].Name != "":
			return nil, b.damaged(fmt.Errorf("%q stands in it twice", header.Name))
		}
		if header.Name == manifestFile {
			m, err := readManifest(in, found)
			if err != nil {
				return nil, b.damaged(err)
			}
			// The checksum of the whole stands behind the last entry.
			if _, err := in.Next(); err != io.EOF {
				return nil, b.damaged(errors.New("something stands behind its end"))
			}
			if n, err := io.Copy(io.Discard, io.LimitReader(unzipped, maxManifest)); err != nil ||
				n == maxManifest {
				return nil, b.damaged(errors.Join(err, errors.New("its end is not clean")))
			}
			return m, nil
		}
		b.room -= header.Size
		sum, err := take(header, in)
		if err != nil {
			return nil, err
		}
		found[header.Name] = archived{header.Name, header.Size, sum}
	}
}

// ManifestOf reads what a backup says of itself, without unpacking it.
func ManifestOf(file string) (*Manifest, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	zipped, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	in := tar.NewReader(zipped)
	for {
		header, err := in.Next()
		if err != nil {
			return nil, err
		}
		if header.Name != manifestFile {
			continue
		}
		text, err := io.ReadAll(io.LimitReader(in, maxManifest))
		if err != nil {
			return nil, err
		}
		m := &Manifest{}
		return m, json.Unmarshal(text, m)
	}
}

func unpackFile(root *os.Root, header *tar.Header, in io.Reader) (sum string, err error) {
	f, err := root.OpenFile(header.Name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return "", err
	}
	hash := sha256.New()
	_, err = io.Copy(io.MultiWriter(f, hash), in)
	return hex.EncodeToString(hash.Sum(nil)), errors.Join(err, f.Sync(), f.Close())
}

// readManifest reads the manifest and compares what it lists with what was found.
func readManifest(in io.Reader, found map[string]archived) (*Manifest, error) {
	text, err := io.ReadAll(io.LimitReader(in, maxManifest))
	if err != nil {
		return nil, err
	}
	var m Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return nil, err
	}
	if m.Format != Format {
		return nil, fmt.Errorf("its format is %d; this program knows %d", m.Format, Format)
	}
	if len(m.Files) != len(found) {
		return nil, fmt.Errorf("it lists %d files and holds %d", len(m.Files), len(found))
	}
	for _, want := range m.Files {
		if found[want.Name] != want {
			return nil, fmt.Errorf("%q is not what was written into it", want.Name)
		}
	}
	if found[DBFile].Name == "" {
		return nil, fmt.Errorf("it holds no %s", DBFile)
	}
	return &m, nil
}

// WithContext stops reading when the work is called off.
func WithContext(ctx context.Context, in io.Reader) io.Reader { return &halting{ctx, in} }

type halting struct {
	ctx context.Context
	io.Reader
}

func (r *halting) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}
