package house

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"text/template"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/registry/whole"
	"pitman/serials"
)

//go:embed house.toml.tmpl
var templates embed.FS

// Init makes a house in dir: what is there already is kept as it is. It returns what it made.
func Init(dir string, first stock.HouseConfig) (made []string, err error) {
	made, err = initialise(dir, first)
	return made, archive.DiskError(err, dir)
}

func initialise(dir string, first stock.HouseConfig) (made []string, err error) {
	if err := registry.CheckLetters(first.Letters); err != nil {
		return nil, err
	}
	config, err := starterConfig(first)
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{archive.ConfigFile: config}
	order := []string{archive.ConfigFile}
	starters := serials.Starters()
	names, err := fs.Glob(starters, "*.csv")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		text, err := fs.ReadFile(starters, name)
		if err != nil {
			return nil, err
		}
		name = filepath.Join(archive.TablesDir, name)
		files[name], order = text, append(order, name)
	}
	if !exists(filepath.Join(dir, archive.DBFile)) {
		if err := bereft(dir); err != nil {
			return nil, err
		}
	} else if back, err := putBack(dir); err != nil {
		return nil, err
	} else if back {
		made = append(made, archive.ConfigFile)
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o700); err != nil {
		return nil, err
	}
	more, err := initBy(dir, order, files)
	return append(made, more...), err
}

// initBy makes a house in a working folder, which then becomes the house, or gives it what it lacks file by
// file: each is whole or not there, and the registry comes last, since a folder is a house once it has one.
func initBy(dir string, order []string, files map[string][]byte) (made []string, err error) {
	parent := filepath.Dir(filepath.Clean(dir))
	if exists(dir) {
		parent = dir
	}
	sweepBeside(parent)
	work, err := os.MkdirTemp(parent, besideName(".pitman-init-"))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	if err := os.Mkdir(filepath.Join(work, archive.TablesDir), 0o700); err != nil {
		return nil, err
	}
	if err := sqlite.Create(filepath.Join(work, archive.DBFile)); err != nil {
		return nil, err
	}
	if files[archive.ConfigFile], err = belongs(files[archive.ConfigFile], dir, work); err != nil {
		return nil, err
	}
	for _, name := range order {
		if err := whole.Write(filepath.Join(work, name), files[name], 0o600); err != nil {
			return nil, err
		}
	}
	order = append(order, archive.DBFile)
	if parent != dir {
		return order, errors.Join(os.Rename(work, dir), whole.SyncFolder(parent))
	}
	if err := os.Mkdir(filepath.Join(dir, archive.TablesDir), 0o700); err != nil &&
		!errors.Is(err, fs.ErrExist) {
		return nil, err
	}
	for _, name := range order {
		fresh, err := moveNew(filepath.Join(work, name), filepath.Join(dir, name))
		if err != nil {
			return made, err
		}
		if fresh {
			made = append(made, name)
		}
	}
	return made, whole.SyncFolder(dir)
}

// belongs writes into a fresh house.toml which registry it belongs to: the one that is there, or the one that
// was just made.
func belongs(config []byte, dir, work string) ([]byte, error) {
	file := filepath.Join(dir, archive.DBFile)
	if !exists(file) {
		file = filepath.Join(work, archive.DBFile)
	}
	db, err := sqlite.Inspect(file)
	if err != nil {
		return nil, err
	}
	head, err := db.Head(context.Background())
	if err = errors.Join(err, db.Close()); err != nil || head.House == "" {
		return config, err
	}
	return bytes.Replace(config, []byte("[house]\n"),
		fmt.Appendf(nil, "[house]\nid = %q    # of this house's registry: leave it as it is\n", head.House),
		1), nil
}

// moveNew gives a file a second name that is not taken yet; where the disk knows no second names, it is
// renamed.
func moveNew(from, to string) (bool, error) {
	err := os.Link(from, to)
	if errors.Is(err, fs.ErrExist) || exists(to) && err != nil {
		return false, nil
	}
	if err != nil {
		err = os.Rename(from, to)
	}
	return err == nil, err
}

func starterConfig(first stock.HouseConfig) ([]byte, error) {
	quote := func(s string) string { return fmt.Sprintf("%q", s) }
	t, err := template.New("").Funcs(template.FuncMap{"quote": quote}).
		ParseFS(templates, "house.toml.tmpl")
	if err != nil {
		return nil, err
	}
	var text bytes.Buffer
	if err := t.ExecuteTemplate(&text, "house.toml.tmpl", first); err != nil {
		return nil, err
	}
	if _, err := ParseConfig(text.Bytes()); err != nil {
		return nil, err
	}
	return text.Bytes(), nil
}
