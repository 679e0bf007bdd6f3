package house

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"pitman/registry/archive"
	"pitman/registry/chain"
	"pitman/registry/sqlite"
	"pitman/registry/whole"
)

// MadeFile notes in the house which backups were made. Like the note of how far the history has come, it may
// be missing or behind: the backups speak for themselves.
const MadeFile = "made.json"

// Made is a backup that was made.
type Made struct {
	File     string    `json:"file"`
	At       time.Time `json:"at"`
	Bytes    int64     `json:"bytes,omitempty"` // 0: not noted
	House    string    `json:"house_id"`
	Machines int64     `json:"machines"`
	Actions  int64     `json:"actions"`
	Links    int64     `json:"links,omitempty"` // how far the history had come, and the sum there
	Sum      string    `json:"head,omitempty"`
	Good     bool      `json:"good"` // the house that it copied had no fault
	Tried    time.Time `json:"tried,omitzero"`
	Untried  bool      `json:"untried,omitempty"` // it was its turn then, and there was no key
}

// maxMade is how many backups are noted.
const maxMade = 500

type madeNotes []Made

func lookMade(dir string) (notes madeNotes) {
	text, err := archive.ReadSmall(filepath.Join(dir, BackupsDir, MadeFile))
	if err != nil || json.Unmarshal(text, &notes) != nil {
		return nil
	}
	return notes
}

func (n madeNotes) find(file string) *Made {
	file, _ = filepath.Abs(file)
	for i := range n {
		if n[i].File == file {
			return &n[i]
		}
	}
	return nil
}

// note keeps what was made, or what has become of it.
func (n madeNotes) note(dir string, m Made) error {
	m.File, _ = filepath.Abs(m.File)
	if old := n.find(m.File); old != nil {
		*old = m
	} else {
		n = append(n, m)
	}
	n = n[max(0, len(n)-maxMade):]
	text, err := json.MarshalIndent(n, "", "  ")
	if err != nil {
		return err
	}
	return whole.Write(filepath.Join(dir, BackupsDir, MadeFile), append(text, '\n'), 0o600)
}

// LastGood is when the last backup was made of a house without fault that is there still, or lies on a disk
// that is not here now; zero when there is none.
func (h *House) LastGood() (at time.Time) {
	for _, m := range lookMade(h.Dir) {
		if m.Good && m.At.After(at) && !m.At.After(h.Now()) && !gone(m.File) && !m.cut() {
			at = m.At
		}
	}
	return at
}

// gone says of a file whether it was removed, and not only its disk.
func gone(file string) bool {
	_, err := os.Stat(filepath.Dir(file))
	return err == nil && !exists(file)
}

// cut says of a backup that is there whether it is of another length than it was made.
func (m *Made) cut() bool {
	info, err := os.Stat(m.File)
	return err == nil && m.Bytes > 0 && info.Size() != m.Bytes
}

// Safekeeping says how well a house is kept: when the last good backup was made, and how far its history has
// come, which whoever writes it down can hold against the registry later.
type Safekeeping struct {
	LastGood time.Time
	Head     chain.Head
	now      time.Time
}

func (h *House) safekeeping(ctx context.Context, db *sqlite.DB) Safekeeping {
	head, _ := db.Head(ctx) // one that cannot be read is told by whatever else is asked
	return Safekeeping{h.LastGood(), head, h.Now()}
}

// Backup says how old the last good backup is.
func (s Safekeeping) Backup() string {
	if s.LastGood.IsZero() {
		return "no good backup is known"
	}
	switch days := int(s.now.Sub(s.LastGood).Hours() / 24); days {
	case 0:
		return "last good backup today"
	case 1:
		return "last good backup 1 day ago"
	default:
		return fmt.Sprintf("last good backup %d days ago", days)
	}
}

// History says how far the history has come.
func (s Safekeeping) History() string {
	return fmt.Sprintf("history at link %d, %s", s.Head.Links, s.Head.Short())
}

// trialEvery is how often a backup is restored to see whether it can be.
const trialEvery = 30 * 24 * time.Hour

// dueTrial is the last backup before this one that is there, if none was tried for so long; nil when none is
// due. One that was not tried for want of a key is due again where there is one.
func dueTrial(dir string, fresh Made, withKey bool) *Made {
	notes := lookMade(dir)
	slices.SortStableFunc(notes, func(a, b Made) int { return a.At.Compare(b.At) })
	var last *Made
	for i, m := range notes {
		if since := fresh.At.Sub(m.Tried); since >= 0 && since < trialEvery && !(m.Untried && withKey) {
			return nil
		}
		if m.At.Before(fresh.At) && exists(m.File) && m.File != fresh.File {
			last = &notes[i]
		}
	}
	return last
}
