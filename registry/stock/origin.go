package stock

import (
	"pitman/registry"
)

// Origin is what ties a machine to papers and houses other than this one.
type Origin struct {
	ImportID string `json:"import_id" db:"import_id"` // what the spreadsheet that it came from calls it
	HandedTo string `json:"handed_to" db:"handed_to"` // the house that it was handed to, and is worked on in
}

// ParseImportID reads what a spreadsheet calls a machine.
func ParseImportID(s string) (string, error) { return registry.CleanText("id", s, registry.MaxName) }
