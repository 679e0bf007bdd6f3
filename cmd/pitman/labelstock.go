package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/lists"
)

// stockFile is the house's label stock, in its lists.
const stockFile = "stock.csv"

// stockTable is the house's label stock, or the starter table where it has none.
func stockTable(dir string) ([]labels.Stock, error) {
	f, err := os.Open(filepath.Join(dir, lists.Folder, stockFile))
	if errors.Is(err, os.ErrNotExist) {
		return labels.DefaultStock(), nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return labels.ReadStock(lists.Folder+"/"+stockFile, f)
}

// stock is the one asked for, or the house's usual one.
func (a *app) stock(dir string, s *labels.Scheme, q *labelRequest, lasting bool) (labels.Stock, error) {
	table, err := stockTable(dir)
	if err != nil {
		return labels.Stock{}, err
	}
	name := q.stock
	switch {
	case name != "":
	case lasting:
		name = s.Stock
	default:
		name = s.SlipStock
	}
	return labels.FindStock(table, name)
}

// labelStock lists the stock, or prints its test sheet.
func (a *app) labelStock(q *labelRequest) error {
	if q.stocks && q.csv {
		if a.json {
			return registry.Errorf(registry.Invalid,
				"--csv writes a table, not JSON: leave one of the two out")
		}
		// Before the house's own table is read: the shell has emptied that already if this is to become it.
		_, err := a.out.Write(labels.DefaultStockCSV)
		return err
	}
	table, err := stockTable(a.dir())
	if err != nil {
		return err
	}
	if q.testSheet {
		s, err := a.schemeOrDefault()
		if err != nil {
			return err
		}
		if q.out.name == "" {
			return registry.Errorf(registry.Invalid, "output is missing: give -o FILE.pdf for the test sheet")
		}
		labelStock, err := a.stock(a.dir(), s, q, true)
		if err != nil {
			return err
		}
		if err := q.out.pages(a, "Test sheet", labels.RulerSheet(labelStock)); err != nil {
			return err
		}
		return a.print(printed{File: q.out.name, Stock: labelStock.Name, Sheets: 1, Tags: []string{}},
			func(w io.Writer) {
				fmt.Fprintf(w, "Test sheet for %s in %s: print it at 100 %% and hold a ruler to it.\n",
					labelStock.Name, q.out.name)
			})
	}
	return a.print(table, func(w io.Writer) {
		columns(w, func(w io.Writer) {
			fmt.Fprintln(w, "stock\tlabel, mm\ta sheet\tnote")
			for _, s := range table {
				fmt.Fprintf(w, "%s\t%v × %v\t%d\t%s\n", s.Name, s.LabelWidth, s.LabelHeight, s.PerSheet(),
					s.Note)
			}
		})
		fmt.Fprintln(w,
			"To change it: pitman label --stocks --csv > lists/stock.csv in the house folder, and edit that.")
	})
}
