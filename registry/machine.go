package registry

import (
	"encoding/json"
	"time"

	"pitman/serials"
)

// NoSerial stands for a missing or unreadable number plate.
const NoSerial = serials.None

// Machine is one sewing-machine head, from the day it was donated.
type Machine struct {
	Row
	Tag       Tag    `json:"tag" db:"tag"`
	Maker     string `json:"maker" db:"maker"`
	Serial    string `json:"serial" db:"serial"` // as stamped, or NoSerial
	Drive     Drive  `json:"drive" db:"drive"`
	Stage     Stage  `json:"stage" db:"stage"`
	From      *int   `json:"from" db:"year_from"` // not made before this year; nil when unknown
	To        *int   `json:"to" db:"year_to"`     // not made after this year; nil when unknown
	Best      *int   `json:"best" db:"year_best"` // the single best year; nil when there is none
	Basis     string `json:"basis" db:"year_basis"`
	Model     string `json:"model" db:"model"`
	Stitch    Stitch `json:"stitch" db:"stitch"`
	Donor     string `json:"donor" db:"donor"`
	Condition string `json:"condition" db:"condition"`
	Place     string `json:"place" db:"place"`
	Note      string `json:"note" db:"note"`
	Weight    Mass   `json:"weight_kg" db:"weight"`

	// What the estimate rests on: evidence beside the serial number, and the table rows that answered.
	Patents     List[string] `json:"patents" db:"patents,json"`
	PatentYears List[int]    `json:"patent_years" db:"patent_years,json"`
	Seen        List[int]    `json:"seen" db:"seen,json"`
	DatedBy     List[string] `json:"dated_by" db:"dated_by,json"`

	ArrivedWith Tag       `json:"arrived_with" db:"arrived_with"` // the base it came with
	LoggedAt    time.Time `json:"logged_at" db:"logged_at"`
	LoggedBy    Initials  `json:"logged_by" db:"logged_by"`
	StageSince  time.Time `json:"stage_since" db:"stage_since"`

	Head
	Origin
	Gates

	// For the look-up of a second log of the same machine.
	MakerKey  string `json:"-" db:"maker_key"`
	SerialKey string `json:"-" db:"serial_key"`
}

// List is a list in JSON even when it is empty.
type List[T any] []T

// MarshalJSON writes [] for an empty list.
func (l List[T]) MarshalJSON() ([]byte, error) {
	if len(l) == 0 {
		return []byte("[]"), nil
	}
	return json.Marshal([]T(l))
}

// Kind names the table.
func (*Machine) Kind() string { return "machine" }

// Subject is the machine's own tag.
func (m *Machine) Subject() string { return string(m.Tag) }

// Year is the estimate in the form that fits on a label.
func (m *Machine) Year() string {
	years := func(y *int) serials.Year {
		if y == nil {
			return 0
		}
		return serials.Year(*y)
	}
	return serials.Estimate{From: years(m.From), To: years(m.To), Best: years(m.Best), Basis: serials.Basis(m.Basis)}.Year()
}

// Person is someone who acted in this house.
type Person struct {
	Initials Initials  `json:"initials"`
	Since    time.Time `json:"since"`
	Last     time.Time `json:"last"`
	Actions  int       `json:"actions"`
}
