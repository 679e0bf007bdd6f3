package stock

import (
	"context"
	"time"

	"pitman/registry"
)

// Column is a field of a machine in which people use the same words again and again.
type Column string

// What can be offered while someone types.
const (
	ColumnMaker     Column = "maker"
	ColumnModel     Column = "model"
	ColumnDonor     Column = "donor"
	ColumnPlace     Column = "place"
	ColumnCondition Column = "condition"
)

// Person is someone who acted in this house.
type Person struct {
	Initials registry.Initials `json:"initials"`
	Since    time.Time         `json:"since"`
	Last     time.Time         `json:"last"`
	Actions  int               `json:"actions"`
}

// Fields names columns and the values they must have.
type Fields map[string]any

// Reader reads records. Struck ones are left out.
type Reader interface {
	// Get fills the record whose columns have these values; an error with code NotFound says that there is
	// none.
	Get(rec registry.Record, where Fields) error
	// All fills *dst, a pointer to a slice of records, with those whose columns have these values, oldest
	// first.
	All(dst any, where Fields) error
	// Machines calls fn for each machine that the filter lets through, in the order in which they were
	// logged.
	Machines(f MachineFilter, fn func(*Machine) error) error
	// Count counts the machines that the filter lets through.
	Count(f MachineFilter) (int, error)
	// Makers lists the makers in the house with the number of their machines, most frequent first.
	Makers() ([]Named, error)
	// Used lists what stands in one field of the machines that came last, with the number of those machines,
	// most frequent first; a maker's key narrows it to that maker.
	Used(column Column, makerKey string) ([]Named, error)
	// Done counts the actions of one person since a time; those undone since, the undoing, and those of
	// registry.Final are left out.
	Done(by registry.Initials, since time.Time) (int, error)
	// Serials calls fn with each maker's key and serial number's key that machines have, each pair once.
	Serials(fn func(makerKey, serialKey string)) error
	// Names lists what stands in the column maker or place, each once and at most n, in order.
	Names(column Column, n int) ([]string, error)
	// TagsFrom calls fn with the tags that begin so, in order and at most n, and what each is.
	TagsFrom(begin string, n int, fn func(tag registry.Tag, what string)) error
	// History lists what happened to a subject, oldest first, without what is coming in in turns.
	History(subject string) ([]registry.Event, error)
	// Each fills rec with every record of its kind in turn, oldest first, and calls fn after each.
	Each(rec registry.Record, fn func() error) error
	// Standings calls fn with each head and base, or with the one that has this tag, and what the records
	// show of it.
	Standings(tag registry.Tag, fn func(*Standing) error) error
	// Changes calls fn with every change of a subject, or of all when it is empty, and the action that it
	// stands under, oldest first.
	Changes(subject string, fn func(*registry.Action, *registry.Change) error) error
	// People lists who acted in this house.
	People() ([]Person, error)
	// Prints calls fn with the latest print of each label and slip, and the latest that was noted of it, in
	// the order in which they came.
	Prints(fn func(Print) error) error

	// Secrets reads what the house keeps to itself under names that begin so: it stands in no history, bundle
	// or export.
	Secrets(begin string) (map[string]string, error)

	// Latest is the latest time of the last thousand actions that were done in this house; zero when there is
	// none.
	Latest() (time.Time, error)
	// LastAction is the newest action that still stands, by this person, or on this subject when one is
	// named; nil if there is none. Those of registry.Final by the person are passed over.
	LastAction(by registry.Initials, subject string) (*registry.Action, error)
	// ComingIn is the action that has come in in part, in turns; nil if there is none.
	ComingIn() (*registry.Action, error)
	// SubjectsOf lists the subjects that an action changed.
	SubjectsOf(action int64) ([]string, error)
	// ActionSent is the action that came by the form with this key; nil if there is none.
	ActionSent(key string) (*registry.Action, error)
	// BuiltOn is the first later action that still stands and changed the subject; nil if there is none.
	BuiltOn(subject string, action int64) (*registry.Action, error)
	// StageChanges calls fn for each time a machine came to a stage, machine by machine, oldest first; what
	// was undone is left out. A machine that came to none between two times is left out altogether.
	StageChanges(from, to time.Time, fn func(StageChange) error) error
	// FirstTests counts the machines whose first function test fell between two times, and how many of them
	// passed it.
	FirstTests(from, to time.Time) (passed, tested int, err error)
}

// Tx is a Reader that can write: one action, kept whole or not at all.
type Tx interface {
	Reader
	// Action is what this transaction is for: who acts, and when.
	Action() *registry.Action
	// Put stores a new or changed record, and keeps the change under this transaction's action.
	Put(rec registry.Record) error
	// WriteBehind makes the rest of the transaction store its rows in the background, for many rows that are
	// not read again: what Put cannot store is told by a later call, at the latest when the transaction ends.
	WriteBehind()
	// Withdraw leaves out of what comes in in turns, once it is let in, all that it made of a subject.
	Withdraw(subject string)
	// KeepSecret keeps what the house tells nobody. It is no change of a record, so it stands in no history.
	KeepSecret(name, value string) error
	// NotePrint keeps that a label was printed. It is no change of a record, so it stands in no history.
	NotePrint(p Print) error
	// Revert puts back what an action changed, under this transaction's action.
	Revert(action int64) error
	// Forget puts texts in which the name of a person can stand out of the records and of their history for
	// good. cut says of a text whether it is one of them, and what a record still says in that column.
	Forget(cut func(column, text string) (rest string, found bool)) (Forgotten, error)
	// NextNumber gives the next number for a tag; none is ever given twice.
	NextNumber() (int64, error)
	// Next gives the next number of another counter: order, partner; none is ever given twice.
	Next(counter string) (int64, error)
	// NumberGiven takes note that a tag of this house with this number exists: NextNumber goes on above it.
	NumberGiven(n int64) error
	// Adopt stores an action that was done in another house, unless it is here, and returns its number here.
	// An action that was done in this house comes back with its number, and must be here.
	Adopt(a *registry.Action) (int64, error)
	// Replay makes a change again that was made in another house, under an adopted action. Ref 0 makes a new
	// record, and is set.
	Replay(c *registry.Change) error
	// Faults looks for whatever the rules of a registry rule out, as this transaction would leave it; what
	// happened to each record is replayed for these subjects, which are those that it has changed.
	Faults(letters string, needed []BasePart, subjects []string) ([]registry.Fault, error)
}

// Store keeps the registry.
type Store interface {
	// View runs fn on one unchanging state.
	View(ctx context.Context, fn func(Reader) error) error
	// Update runs fn in one transaction for this action, and returns once it is durable. An error of fn
	// undoes all of it.
	Update(ctx context.Context, a *registry.Action, fn func(Tx) error) error
	// InTurns runs fn again and again until it says that it has ended, each time in a transaction in which all
	// it does is make records; others write in between. None of the records is to be met before all are there,
	// and an error takes back what was done.
	InTurns(ctx context.Context, a *registry.Action, fn func(Tx) (ended bool, err error)) error
	// TakeBack takes back, at this time, what InTurns began and a program that was ended left, and returns what
	// that was; nil for nothing.
	TakeBack(ctx context.Context, at time.Time) (*registry.Action, error)
}

// Forgotten is what was put out of the registry.
type Forgotten struct {
	Records  int      // texts of records, as they stood
	Subjects []string // whose they were
	Lines    int      // texts of the history
	Since    string   // when the first of those was recorded
	Open     []string // texts that no name should stand in, and that were left: "LR1I: place"
	Settings []int    // lines of house.toml in which it stands still, and in what is remembered of that
}

// StageChange is a machine's coming to a stage.
type StageChange struct {
	Machine int64 // its row
	Stage   registry.Stage
	At      time.Time
}

// Named is a name with a count.
type Named struct {
	Name  string `json:"name"`
	Count int    `json:"count"`
}

// MachineFilter says which machines to list; a zero field lets all through.
type MachineFilter struct {
	Stage    registry.Stage
	Drive    registry.Drive
	Maker    string
	Place    string
	Here     bool         // not handed over to another house
	MadeFrom int          // the machine may be from this year or later
	MadeTo   int          // the machine may be from this year or earlier
	Received [2]time.Time // logged from the first on and before the second
	Text     string
	NoYear   bool         // what is known of its age contradicts itself
	Since    int64        // something was done to it by a later action than this one
	After    registry.Tag // go on behind this one
	Limit    int          // 0 = all
}

const VerbBundleIn = "bundle in"
