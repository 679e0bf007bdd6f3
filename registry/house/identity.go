package house

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/chain"
	"pitman/registry/sqlite"
	"pitman/registry/whole"
)

// KnownFile notes beside the registry how far its history has come, so that an older or another file in its
// place is known for one. It is no part of the history: it may stay behind, and is never ahead, since it is
// written after a commit.
const KnownFile = "pitman.known"

// lookKnown reads the note; a missing or torn one says nothing.
func lookKnown(dir string) (head chain.Head, ok bool) {
	text, err := archive.ReadSmall(filepath.Join(dir, KnownFile))
	return head, err == nil && json.Unmarshal(text, &head) == nil && head.House != "" && head.Links > 0
}

// Note writes down how far the history has come. A note that cannot be written is the older one, which does
// no harm.
func (h *House) Note(ctx context.Context, db *sqlite.DB) {
	head, err := db.Head(ctx)
	if err != nil {
		return
	}
	if was, ok := h.cameTo(); ok {
		noted, _ := lookKnown(h.Dir)
		if on, err := db.Descends(ctx, was); err != nil || !on || noted == head {
			return // it never goes back, nor over to another registry
		}
	}
	if text, err := json.Marshal(head); err == nil {
		_ = whole.Write(filepath.Join(h.Dir, KnownFile), append(text, '\n'), 0o600)
	}
}

// cameTo is how far the history is known to have come. Where the note is lost, the house's own backups know.
func (h *House) cameTo() (head chain.Head, ok bool) {
	if head, ok := lookKnown(h.Dir); ok {
		return head, true
	}
	for _, m := range lookMade(h.Dir) {
		if m.Links > head.Links && m.House != "" {
			head = chain.Head{House: m.House, Links: m.Links, Sum: m.Sum}
		}
	}
	if head.Links > 0 {
		return head, true
	}
	folder := filepath.Join(h.Dir, BackupsDir)
	entries, _ := os.ReadDir(folder)
	for _, e := range slices.Backward(entries) { // in the order of their moments
		if !dated.MatchString(e.Name()) {
			continue
		}
		m, err := archive.ManifestOf(filepath.Join(folder, e.Name()))
		if err != nil || m.Links == 0 {
			continue
		}
		if id := h.Config.House.ID; id == "" || m.Head.House == id {
			return m.Head, true
		}
		if head.Links == 0 {
			head = m.Head // another house's may have been put among them
		}
	}
	return head, head.Links > 0
}

// isHouse is the id of this house, as what lies beside its backups tells it: the note of how far it has come,
// house.toml, or the registry. It is empty where nothing can.
func (h *House) isHouse(ctx context.Context) string {
	if head, ok := lookKnown(h.Dir); ok {
		return head.House
	}
	config, err := readConfig(filepath.Join(h.Dir, archive.ConfigFile))
	if err == nil && config.House.ID != "" {
		return config.House.ID
	}
	db, err := sqlite.Inspect(filepath.Join(h.Dir, archive.DBFile))
	if err != nil {
		return ""
	}
	defer db.Close()
	head, _ := db.Head(ctx) // of a damaged one nothing
	return head.House
}

// nothingDone is how many links the history of a house has in which nothing was done: its beginning, and
// house.toml.
const nothingDone = 2

// Unsure says what nobody can tell of the registry from what lies beside it; empty when nothing is missing.
func (h *House) Unsure(ctx context.Context, db *sqlite.DB) string {
	if _, ok := lookKnown(h.Dir); ok {
		return ""
	}
	if head, err := db.Head(ctx); err != nil || head.Links <= nothingDone {
		return ""
	}
	if head, ok := h.cameTo(); ok {
		return fmt.Sprintf("%s is missing, so it was held against the backups of this house alone: what was done "+
			"since link %d of its history could be missing, and nobody could tell", KnownFile, head.Links)
	}
	return fmt.Sprintf("%s is missing and there is no backup to hold it against, so nobody can tell whether "+
		"this is an older copy of the registry: compare link and sum with a packing list, a bundle or the desk",
		KnownFile)
}

// sameHouse refuses a registry that is not the one which stood here, or has lost or changed what it once
// knew.
func (h *House) sameHouse(ctx context.Context, db *sqlite.DB) error {
	head, err := db.Head(ctx)
	if err != nil || head.Links == 0 {
		return err
	}
	known, ok := h.cameTo()
	if !ok {
		return h.sameConfig(head)
	}
	way := func(format string, args ...any) error {
		return registry.Errorf(registry.Conflict, format+
			": put the latest backup in its place; nothing was changed", args...).
			Then(registry.Next(registry.DoVerify, ""), registry.Next(registry.DoRestore, ""))
	}
	switch same, err := db.Descends(ctx, known); {
	case err != nil:
		return err
	case same:
		return h.sameConfig(head)
	case known.House != head.House:
		return way("%s is the registry of another house than the one that stood here", archive.DBFile)
	case head.Links < known.Links:
		return way("%s is older than what this house has come to (%d of %d links of its history)", archive.DBFile,
			head.Links, known.Links)
	}
	return way("the history in %s is another than the one that this house has written", archive.DBFile)
}

// sameConfig refuses the house.toml of another house; one of before does not say whose it is.
func (h *House) sameConfig(head chain.Head) error {
	id := h.Config.House.ID
	if id == "" || id == head.House {
		return nil
	}
	return registry.Errorf(registry.Conflict,
		"%s is that of another house (id %.8s…) than the registry (%.8s…): put back the one that was here",
		archive.ConfigFile, id, head.House).
		Then(registry.Next(registry.DoVerify, ""), registry.Next(registry.DoRestore, ""))
}

// lost says why house.toml cannot be what the house decided; empty when it can.
func lost(path string) (string, error) {
	text, err := archive.ReadSmall(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "is missing", nil
	case err != nil:
		return "", err
	case len(bytes.TrimSpace(text)) == 0:
		return "is empty", nil
	}
	return "", nil
}

// remember keeps what house.toml says, or, when it is lost, takes what the registry remembers of it, and
// stops the work.
func (h *House) remember(ctx context.Context, db *sqlite.DB) error {
	if h.Lost == "" {
		if db.ReadOnly() {
			return nil
		}
		text, err := archive.ReadSmall(filepath.Join(h.Dir, archive.ConfigFile))
		if err != nil {
			return err
		}
		return db.Remember(ctx, h.Now(), string(text))
	}
	text, err := db.Remembered(ctx)
	if err != nil || text == "" {
		return err
	}
	config, err := ParseConfig([]byte(text))
	if err == nil {
		h.Config, h.remembered = config, true
	}
	return err
}

// Halted is the refusal of work while house.toml is lost; nil when it is not. It tells what the registry
// remembers of it.
func (h *House) Halted() error {
	if h.Lost == "" {
		return nil
	}
	what := "the registry remembers nothing of it: write it anew, with the letters of the tags that were " +
		"given"
	if h.remembered {
		competent := "nobody"
		if of := h.Config.Safety.Competent; len(of) > 0 {
			competent = strings.Join(of, ", ")
		}
		what = fmt.Sprintf("the registry remembers %s, letters %s, competent for safety tests: %s, and its "+
			"limits; put it back from there, or from a "+
			"backup", h.Config.House.Name, h.Config.House.Letters, competent)
	}
	return registry.Errorf(registry.Conflict, "%s %s, so nothing is recorded: %s", archive.ConfigFile, h.Lost,
		what).Then(registry.Next(registry.DoInit, "").With("house", h.Dir))
}

// bereft refuses to make a new registry where one has been.
func bereft(dir string) error {
	_, known := lookKnown(dir)
	backups, _ := os.ReadDir(filepath.Join(dir, BackupsDir))
	kept := slices.ContainsFunc(backups, func(e fs.DirEntry) bool { return dated.MatchString(e.Name()) })
	if !known && !kept {
		return nil
	}
	return registry.Errorf(registry.Conflict,
		"%s is gone from the house %s: put the latest backup in its place; a new one would give tags a "+
			"second time", archive.DBFile, dir).On("house").Then(registry.Next(registry.DoRestore, ""))
}

// putBack writes house.toml as the registry remembers it, where it is lost.
func putBack(dir string) (bool, error) {
	path := filepath.Join(dir, archive.ConfigFile)
	why, err := lost(path)
	if err != nil || why == "" || !exists(filepath.Join(dir, archive.DBFile)) {
		return false, err
	}
	db, err := (&House{Dir: dir, Config: Defaults(), Now: time.Now}).open()
	if err != nil {
		return false, err
	}
	text, err := db.Remembered(context.Background())
	if err = errors.Join(err, db.Close()); err != nil || text == "" {
		return false, err
	}
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) { // a link that leads nowhere
		return false, err
	}
	return true, whole.Write(path, []byte(text), 0o600)
}
