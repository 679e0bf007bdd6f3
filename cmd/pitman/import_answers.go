package main

import (
	"os"

	"pitman/registry/house"
	"pitman/registry/imports"
)

// forgetColumns takes the answers of this file's columns out of the house's own list.
func forgetColumns(d *workplace, file *os.File, row int) error {
	h, err := d.Imports.ReadHeader(file, row, nil, nil)
	if err != nil {
		return nil // it is told when the file is read
	}
	if err := imports.Forget(d.house.Dir, h.Sheet.Header()); err != nil {
		return err
	}
	again, err := house.Open(d.house.Dir)
	if err == nil {
		d.Lists.Imports = again.Lists.Imports
	}
	return err
}
