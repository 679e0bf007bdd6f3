package verify

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
)

// Forgot begins the note of a link that vouches for what was forgotten in it.
const Forgot = "forgot "

// ForgotNote is the note for these rows of the table forgotten.
func ForgotNote(rows []string) string {
	sum := sha256.Sum256([]byte(strings.Join(rows, "\n")))
	return fmt.Sprintf("%s%d %s", Forgot, len(rows), hex.EncodeToString(sum[:]))
}

// Forgotten is what a registry tells of what was forgotten in it.
type Forgotten struct {
	Texts int // how many, of the actions and of the changes
	// By the number of a link: what its sum is since texts were forgotten in it. Only links from before there
	// were marks have such a sum, for theirs were made over the texts themselves.
	Again map[int64]string
	// By its number: what house.toml said once, and was put out. A text of the history is none.
	Decisions map[int64]bool
	// By the link that tells of it: the rows.
	Rows map[int64][]string
}

// Forgotten reads it; nil of a file from before anybody could forget.
func (v *Verification) Forgotten() (*Forgotten, error) {
	f, err := ReadForgotten(v)
	if err != nil || f == nil {
		return f, err
	}
	notes, err := v.Query("SELECT id, note FROM link WHERE note LIKE ? OR id IN (SELECT link FROM forgotten)",
		Forgot+"%")
	if err != nil {
		return nil, err
	}
	defer notes.Close()
	vouched := 0
	for notes.Next() {
		var link int64
		var note string
		if err := notes.Scan(&link, &note); err != nil {
			return nil, err
		}
		vouched++
		if note != ForgotNote(f.Rows[link]) {
			v.Fault(fmt.Sprintf("link %d of the history", link), MendRestore,
				"what it tells of texts that were forgotten is not what was recorded")
		}
	}
	if err := notes.Err(); err != nil {
		return nil, err
	}
	if vouched < len(f.Rows) {
		v.Fault("history", MendRestore, "tells of texts that were forgotten, and no link vouches for it")
	}
	return f, nil
}

// ReadForgotten reads it without holding it against the chain.
func ReadForgotten(r Source) (*Forgotten, error) {
	if there, err := Strings(r, "SELECT name FROM sqlite_schema WHERE name = 'forgotten'"); len(there) == 0 {
		return nil, err
	}
	f := &Forgotten{Again: map[int64]string{}, Decisions: map[int64]bool{}, Rows: map[int64][]string{}}
	rows, err := r.Query("SELECT link, what FROM forgotten ORDER BY id")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var link, again int64
		var what, sum string
		if err := rows.Scan(&link, &what); err != nil {
			return nil, err
		}
		f.Rows[link] = append(f.Rows[link], what)
		if n, _ := fmt.Sscanf(what, "link %d %s", &again, &sum); n == 2 {
			f.Again[again] = sum
		} else if n, _ := fmt.Sscanf(what, decisionTold, &again); n == 1 {
			f.Decisions[again] = true
		} else {
			f.Texts++
		}
	}
	return f, rows.Err()
}

// Proves says whether this is the sum of a link, by itself or since texts of it were forgotten.
func (f *Forgotten) Proves(l Link, sum string) bool {
	return sum == l.Sum || f != nil && sum == f.Again[l.ID]
}
