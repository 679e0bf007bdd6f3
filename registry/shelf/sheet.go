package shelf

import (
	"encoding/json"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// StartedSheet is what is left of a sheet of labels: the first free one, counted from 1 along the rows, and
// those behind it that are spoiled. The zero value is a whole sheet.
type StartedSheet struct {
	Next    int   `json:"next"`
	Spoiled []int `json:"spoiled,omitempty"`
}

// sheetIn is what a started sheet is kept under: the same stock may lie in two printers.
func sheetIn(printer, of string) registry.Tag { return registry.Tag(printer + "/" + of) }

// SheetIn is the started sheet of a stock that lies in a printer; the empty one is for files, which are
// printed wherever it is.
func SheetIn(r stock.Reader, printer, of string) (s StartedSheet, err error) {
	err = r.Prints(func(p stock.Print) error {
		if p.Kind == stock.SheetPrint && p.Tag == sheetIn(printer, of) {
			return json.Unmarshal([]byte(p.Says), &s)
		}
		return nil
	})
	return s, err
}

// KeepSheet keeps what is left of a sheet, with the print that leaves it so.
func KeepSheet(tx stock.Tx, printer, of string, s StartedSheet) error {
	says, err := json.Marshal(s)
	if err != nil {
		return err
	}
	a := tx.Action()
	return tx.NotePrint(stock.Print{Tag: sheetIn(printer, of), Kind: stock.SheetPrint, Event: stock.Printed,
		Says: string(says), At: a.At.UTC().Truncate(time.Millisecond), By: a.By})
}
