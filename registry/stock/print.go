package stock

import (
	"time"

	"pitman/registry"
)

// PrintKind is what was printed for a head or base.
type PrintKind string

// The lasting label is tied on; the slip lies beside and is replaced at each move.
const (
	LabelPrint PrintKind = "label"
	SlipPrint  PrintKind = "slip"
	// ShelfPrint is the label of a place: what bears its code as a tag, and its name as what it says.
	ShelfPrint PrintKind = "shelf"
	// BlankPrint is a tag that was printed before there was anything to tie it to.
	BlankPrint PrintKind = "blank"
	// SheetPrint is a sheet of labels that was started: what it lies in as a tag, and what of it is left.
	SheetPrint PrintKind = "sheet"
)

// PrintEvent is what became of a label.
type PrintEvent string

// A label is printed, then found spoiled or tied on. A spoiled one has to be printed again.
const (
	Printed PrintEvent = "printed"
	Spoiled PrintEvent = "spoiled"
	Tied    PrintEvent = "tied"
)

// Print is a label or slip that was printed, or what was noted of it since. It stands beside the history and
// not in it: undoing an action does not take a label off a machine, and must not be blocked by one.
type Print struct {
	Tag         registry.Tag
	Kind        PrintKind
	Event       PrintEvent
	Fingerprint string // of all that stood on it, in prints of earlier programs, which kept nothing else
	Says        string // what it states, in the form of whoever drew it
	At          time.Time
	By          registry.Initials // empty when nobody said
	Times       int               // how often this happened to the label; known of a print that is read
}
