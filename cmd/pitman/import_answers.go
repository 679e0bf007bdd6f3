package main

import (
	"os"

	"pitman/registry/exchange"
	"pitman/registry/house"
)

// forgetColumns takes the answers of this file's columns out of the house's own list.
func forgetColumns(d *workplace, file *os.File, row int) error {
	h, err := d.Exchange.ReadHeader(file, row, nil, nil)
	if err != nil {
		return nil // it is told when the file is read
	}
	if err := exchange.Forget(d.house.Dir, h.Sheet.Header()); err != nil {
		return err
	}
	again, err := house.Open(d.house.Dir)
	if err == nil {
		d.Lists.Exchange = again.Lists.Exchange
	}
	return err
}
