package verify

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"pitman/registry/chain"
)

// Decision is what house.toml said from a moment on. A text in which a person was forgotten is empty, and its
// mark the digest by which it entered the chain.
type Decision struct {
	ID             int64
	At, Text, Mark string
}

// Note is the note of the link that vouches for it.
func (d Decision) Note() string { return NoteOf(d.Mark, d.Text) }

// ReadDecisions reads all that house.toml said, as far as it can be read. A file of before has no marks.
func ReadDecisions(r Source) (all []Decision, err error) {
	mark, err := columnOrEmpty(r, "decisions", "mark")
	if err != nil {
		return nil, err
	}
	rows, err := r.Query("SELECT id, at, text, " + mark + " FROM decisions ORDER BY id")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var d Decision
		if err := rows.Scan(&d.ID, &d.At, &d.Text, &d.Mark); err != nil {
			return all, err
		}
		all = append(all, d)
	}
	return all, rows.Err()
}

// decisions holds what house.toml said against the links that vouch for it, and what was put out of it
// against what the chain tells of that.
func (v *Verification) decisions() error {
	all, err := ReadDecisions(v)
	if err != nil {
		return err
	}
	notes, err := Strings(v, "SELECT note FROM link WHERE note LIKE ? ORDER BY id", Decided+"%")
	if err != nil {
		return err
	}
	told, err := ReadForgotten(v)
	if err != nil {
		return err
	}
	forgotten := 0
	for i := range max(len(all), len(notes)) {
		if i >= len(all) || i >= len(notes) || all[i].Note() != notes[i] {
			v.Fault("house.toml", MendRestore, "what the registry remembers of it is not what was recorded")
			return nil
		}
		if chain.Forgotten(all[i].Mark) {
			forgotten++
			if told == nil || !told.Decisions[all[i].ID] || all[i].Text != "" {
				forgotten = -1 // more than can be told
				break
			}
		}
	}
	if told != nil && forgotten != len(told.Decisions) || told == nil && forgotten != 0 {
		v.Fault("house.toml", MendRestore,
			"what the registry remembers of it was put out, and not as it tells")
	}
	return nil
}

// Decided begins the note of a link that vouches for what house.toml said.
const Decided = "house.toml "

// NoteOf is the note for such a text and its mark.
func NoteOf(mark, text string) string {
	if mark != "" {
		return Decided + chain.Digest(mark, text)
	}
	sum := sha256.Sum256([]byte(text))
	return Decided + hex.EncodeToString(sum[:])
}

// decisionTold is the row of the table forgotten for a decision that was put out.
const decisionTold = "decision %d"

// ToldOfDecision is that row.
func ToldOfDecision(id int64) string { return fmt.Sprintf(decisionTold, id) }
