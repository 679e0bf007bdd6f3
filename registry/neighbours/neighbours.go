// Package neighbours is what stands in other houses as far as this one was told: each one's stock as of a
// day, kept in a file beside the registry. It is looked at and counted, and nothing of it has a stage here.
package neighbours

import (
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/stock"
	"pitman/registry/whole"
)

// Folder holds a file for each neighbour, within the house.
const Folder = "neighbours"

const (
	suffix  = ".json.gz"
	format  = 1
	maxRead = 1 << 29 // bytes, unpacked: more than any house writes of its stock
)

// Old is from how many days on a neighbour's stock is called old: a month, by common practice the time in
// which a workshop's shelves turn over.
const Old = 30

// House is another house as of a moment.
type House struct {
	Format  int               `json:"format"`
	Letters string            `json:"letters"`
	Name    string            `json:"name"`
	AsOf    time.Time         `json:"as_of"`
	Source  string            `json:"source"` // bundle or backup
	To      string            `json:"to"`     // the house for which a bundle was written
	ID      string            `json:"id"`     // of its history; "" where the file did not say
	Key     string            `json:"key"`    // that signed the file; "" when nobody did
	AddedAt time.Time         `json:"added_at"`
	AddedBy registry.Initials `json:"added_by"`

	Heads []stock.Machine `json:"heads"`
	Bases []stock.Base    `json:"bases"`
}

// Slim leaves out what is nobody else's business: who gave a piece, who wrote it down, and what they noted.
func (h *House) Slim() {
	for i := range h.Heads {
		m := &h.Heads[i]
		m.Donor, m.Note, m.LoggedBy, m.TestedBy, m.SafetyBy, m.PausedBy = "", "", "", "", "", ""
		m.KnownBy, m.HeritageSeenBy, m.ImportID, m.MovedIn, m.SoldAs = "", "", "", "", ""
	}
	for i := range h.Bases {
		b := &h.Bases[i]
		b.Donor, b.Note, b.LoggedBy, b.ImportID, b.MovedIn = "", "", "", "", ""
	}
}

// Age is how many days ago this was so.
func (h *House) Age(now time.Time) int { return max(0, int(now.Sub(h.AsOf).Hours()/24)) }

// Said names the house with its day: Nether Quoin, as of 2031-03-03, 12 days ago.
func (h *House) Said(now time.Time, zone *time.Location) string {
	said := fmt.Sprintf("%s, as of %s", h.Name, h.AsOf.In(zone).Format(time.DateOnly))
	switch days := h.Age(now); {
	case days == 1:
		said += ", 1 day ago"
	case days >= Old:
		said += fmt.Sprintf(", %d days ago: old, ask there before anybody drives", days)
	case days > 1:
		said += fmt.Sprintf(", %d days ago", days)
	}
	return said
}

// IsFile says whether a neighbour's file can bear this name.
func IsFile(name string) bool {
	letters, ok := strings.CutSuffix(name, suffix)
	return ok && registry.CheckLetters(letters) == nil
}

func path(dir, letters string) string { return filepath.Join(dir, Folder, letters+suffix) }

// Keep writes a neighbour's file, whole, in the place of the one before.
func (h *House) Keep(dir string) error {
	h.Format = format
	if err := os.MkdirAll(filepath.Join(dir, Folder), 0o700); err != nil {
		return err
	}
	var packed strings.Builder
	zip := gzip.NewWriter(&packed)
	if err := errors.Join(json.NewEncoder(zip).Encode(h), zip.Close()); err != nil {
		return err
	}
	return whole.Write(path(dir, h.Letters), []byte(packed.String()), 0o600)
}

// Drop takes a neighbour's file away, also one that cannot be read.
func Drop(dir, letters string) error {
	if !IsFile(letters + suffix) {
		return unkept(letters)
	}
	err := os.Remove(path(dir, letters))
	if errors.Is(err, fs.ErrNotExist) {
		return unkept(letters)
	}
	return err
}

func unkept(letters string) error {
	return registry.Errorf(registry.NotFound,
		"no stock of a house with the letters %.20q is kept here: add its bundle or backup first", letters).
		On("letters").Then(registry.Next(registry.DoListHouses, ""))
}

// Of reads one neighbour's stock.
func Of(dir, letters string) (*House, error) {
	f, err := os.Open(path(dir, letters))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, unkept(letters)
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	damaged := func(why string) error {
		return registry.Errorf(registry.Conflict,
			"%s/%s%s %s: drop it, and add that house's bundle or backup again", Folder, letters, suffix, why).
			On("letters").Then(registry.Next(registry.DoDropHouse, "").With("letters", letters))
	}
	zip, err := gzip.NewReader(f)
	if err != nil {
		return nil, damaged("is damaged")
	}
	h := &House{}
	// all of it, so that its checksum is looked at
	text, err := io.ReadAll(io.LimitReader(zip, maxRead))
	if err != nil || len(text) == maxRead || json.Unmarshal(text, h) != nil {
		return nil, damaged("is damaged")
	}
	if h.Format != format {
		return nil, damaged(fmt.Sprintf("has the form %d, which this program does not know", h.Format))
	}
	if h.Letters != letters {
		return nil, damaged(fmt.Sprintf("tells of the house with the letters %.20q", h.Letters))
	}
	for i := range h.Heads {
		h.Heads[i].Key()
	}
	return h, nil
}

// Kept lists the letters of the neighbours that files are kept of.
func Kept(dir string) (letters []string, err error) {
	entries, err := os.ReadDir(filepath.Join(dir, Folder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	for _, e := range entries {
		if IsFile(e.Name()) {
			letters = append(letters, strings.TrimSuffix(e.Name(), suffix))
		}
	}
	slices.Sort(letters)
	return letters, nil
}

// All reads what is kept of all neighbours.
func All(dir string) (list []House, err error) {
	letters, err := Kept(dir)
	if err != nil {
		return nil, err
	}
	for _, l := range letters {
		h, err := Of(dir, l)
		if err != nil {
			return nil, err
		}
		list = append(list, *h)
	}
	return list, nil
}

// Faults names the files that cannot be read.
func Faults(dir string) (faults []registry.Fault, err error) {
	letters, err := Kept(dir)
	for _, l := range letters {
		_, err := Of(dir, l)
		var refused *registry.Error
		if errors.As(err, &refused) {
			faults = append(faults, registry.Fault{Check: "neighbours", Subject: Folder + "/" + l + suffix,
				What: "cannot be read", Mend: "drop it, and add that house's bundle or backup again",
				Next: refused.Next})
		} else if err != nil {
			return nil, err
		}
	}
	return faults, err
}

// Neighbours is the room that counts what stands in other houses beside the stock of this one.
type Neighbours struct {
	*stock.Stock
	Dir string // the house folder; "" where there is none
}

// Standing lists the neighbours with what still counts as theirs: what stands in their house by their word,
// is not in this one by its own, and is told of by no later word of another.
func (w *Neighbours) Standing(r stock.Reader) ([]House, error) {
	if w.Dir == "" {
		return nil, nil
	}
	all, err := All(w.Dir)
	if err != nil {
		return nil, err
	}
	later := slices.Clone(all)
	slices.SortStableFunc(later, func(a, b House) int { return b.AsOf.Compare(a.AsOf) })
	told := map[registry.Tag]string{} // by whom last
	for _, h := range later {
		for _, tag := range h.tags() {
			if told[tag] == "" {
				told[tag] = h.Letters
			}
		}
	}
	for i := range all {
		h := &all[i]
		counts := func(tag registry.Tag, stage registry.Stage, handed string) (bool, error) {
			if told[tag] != h.Letters || handed != "" || stock.Gone(stage, "") != "" {
				return false, nil
			}
			u, err := stock.UnitByTag(r, tag)
			if registry.CodeOf(err) == registry.NotFound {
				return true, nil
			}
			if err != nil {
				return false, err
			}
			return u.Workable() != nil, nil // this house handed it away
		}
		var kept []stock.Machine
		for _, m := range h.Heads {
			ok, err := counts(m.Tag, m.Stage, m.HandedTo)
			if err != nil {
				return nil, err
			}
			if ok {
				kept = append(kept, m)
			}
		}
		var bases []stock.Base
		for _, b := range h.Bases {
			ok, err := counts(b.Tag, b.Stage, b.HandedTo)
			if err != nil {
				return nil, err
			}
			if ok {
				bases = append(bases, b)
			}
		}
		h.Heads, h.Bases = kept, bases
	}
	return all, nil
}

func (h *House) tags() (tags []registry.Tag) {
	for i := range h.Heads {
		tags = append(tags, h.Heads[i].Tag)
	}
	for i := range h.Bases {
		tags = append(tags, h.Bases[i].Tag)
	}
	return tags
}

// Weight is what the pieces of a house weigh together, and how many of them nobody weighed.
func (h *House) Weight() (sum measure.Mass, unweighed int) {
	add := func(m measure.Mass) {
		if sum += m; m == 0 {
			unweighed++
		}
	}
	for i := range h.Heads {
		add(h.Heads[i].Weight)
	}
	for i := range h.Bases {
		add(h.Bases[i].Weight)
	}
	return sum, unweighed
}
