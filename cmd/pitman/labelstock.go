package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/house"
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
func (a *app) labelStock(ctx context.Context, q *labelRequest) error {
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
		if q.out.name == "" && q.printer == "" {
			return registry.Errorf(registry.Invalid,
				"output is missing: give -o FILE.pdf for the test sheet, or --print NAME")
		}
		if q.printer != "" {
			if err := canPrintHere(q.printer); err != nil {
				return err
			}
			h, err := house.Open(a.dir())
			if err != nil {
				return err
			}
			q.asPrinterHas(h.Config.Printer[q.printer])
		}
		labelStock, err := a.stock(a.dir(), s, q, true)
		if err != nil {
			return err
		}
		if q.printer != "" {
			return a.printTestSheet(ctx, q, labelStock)
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

// printTestSheet prints the test sheet as the printer's profile has it: what is off on it is off still.
func (a *app) printTestSheet(ctx context.Context, q *labelRequest, on labels.Stock) error {
	sheet := labels.RulerSheet(on)
	err := q.put(ctx, a.now(), q.device(on), []*labels.Drawing{sheet}, []named{{"ruler", sheet}})
	if err != nil {
		return err
	}
	return a.print(printed{Stock: on.Name, Sheets: 1, Tags: []string{}}, func(w io.Writer) {
		fmt.Fprintf(w,
			"Test sheet for %s sent to %s: hold a ruler to it. What it is off still, add to right and "+
				"down in [printer.%s] of house.toml.\n", on.Name, q.printer, q.printer)
	})
}
