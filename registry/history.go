package registry

import (
	"encoding/json"
	"time"
)

// Action is one thing that one person did: what its transaction changed stands under it, together or not at
// all.
type Action struct {
	ID     int64
	At     time.Time
	By     Initials
	Verb   string // "log", "triage", "bench start", ...
	Why    string
	Undoes int64 // the action that this one reverses, or 0
	// the house that it was done in and its number there, such as LR/417; empty when that is here
	Origin string

	Sent string // the key of the form that it came by, which no other action has; empty when it came by none

	Proof any // that somebody gave their PIN for it, read by the gate; nil when nobody did
	// who signed it without a PIN, since nobody in the house has one; set by the gate
	Unsigned Initials

	NewPerson bool // these initials acted here for the first time; set by the store
}

// What is done to a person's PIN. None of it can be undone: a wrong one was given, and for one that is set
// another can be set.
const (
	VerbPIN      = "PIN set"
	VerbPINReset = "PIN set by a coordinator"
	VerbPINWrong = "wrong PIN"
)

// VerbUndo is that an action was taken back.
const VerbUndo = "undo"

// VerbForget is that a person's name was put out of the registry for good.
const VerbForget = "forget"

// Final are the actions that undoing passes over.
var Final = []string{VerbPIN, VerbPINReset, VerbPINWrong, VerbForget}

// Change is what an action did to one record: each field's value before and after, as stored.
type Change struct {
	Action  int64
	Kind    string
	Ref     int64
	Subject string // the tag, or order, that the record is about
	Fields  map[string][2]any
	// which of the two texts of a field were forgotten, and stand empty; nil where none was
	Forgotten map[string][2]bool
}

// Forget notes that the text before (0) or after (1) was forgotten.
func (c *Change) Forget(field string, side int) {
	if c.Forgotten == nil {
		c.Forgotten = map[string][2]bool{}
	}
	sides := c.Forgotten[field]
	sides[side] = true
	c.Forgotten[field] = sides
}

// Event is an action as it bears on one subject: a line of its history.
type Event struct {
	ID int64     `json:"id"`
	At time.Time `json:"at"`
	By Initials  `json:"by"`
	// letters of the house that it was done in, when that is another one
	House   string            `json:"house,omitempty"`
	Action  string            `json:"action"`
	Why     string            `json:"why,omitempty"`
	Undoes  int64             `json:"undoes,omitempty"`
	Changes map[string][2]any `json:"changes"`
}

// Row is what every stored record carries.
type Row struct {
	ID int64 `json:"-" db:"id"`
	// its making was undone; it is kept, so that history replays, but shown nowhere
	Struck bool `json:"-" db:"struck"`
}

// Record is a stored thing whose changes are kept in history. Its fields carry `db` tags with the column's
// name; a field tagged `db:"name,json"` is stored as JSON text.
type Record interface {
	// Kind is the name of the record's table.
	Kind() string
	// Subject is the tag or order whose history shows this record's changes.
	Subject() string
	// row gives the store its number, and seals the interface.
	row() *Row
}

// RowOf returns what the store keeps of a record.
func RowOf(r Record) *Row { return r.row() }

//lint:ignore U1000 every record of another package has it through its embedded Row
func (r *Row) row() *Row { return r }

// List is a list in JSON even when it is empty.
type List[T any] []T

// MarshalJSON writes [] for an empty list.
func (l List[T]) MarshalJSON() ([]byte, error) {
	if len(l) == 0 {
		return []byte("[]"), nil
	}
	return json.Marshal([]T(l))
}
