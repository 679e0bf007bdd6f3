package house

import (
	"context"
	"os"
	"path/filepath"

	"pitman/registry/archive"
	"pitman/registry/sqlite"
)

// CopyFor makes a copy of the house to practise in: the registry as it stands, with the tables, lists and
// decisions. It goes into a folder that is not there yet.
func (h *House) CopyFor(ctx context.Context, db *sqlite.DB, dir string) error {
	if err := os.Mkdir(dir, 0o700); err != nil {
		return archive.DiskError(err, dir)
	}
	names, err := archive.HouseFiles(h.Dir)
	if err != nil {
		return err
	}
	for _, name := range names {
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			return archive.DiskError(err, to)
		}
		text, err := os.ReadFile(filepath.Join(h.Dir, filepath.FromSlash(name)))
		if err != nil {
			return err
		}
		if err := os.WriteFile(to, text, 0o600); err != nil {
			return archive.DiskError(err, to)
		}
	}
	return db.CopyTo(ctx, filepath.Join(dir, archive.DBFile))
}
