package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"pitman/serials/stamp"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/makers"
	"pitman/registry/stock"
	"pitman/serials"
)

func (a *app) dateCommand() *cobra.Command {
	var fields *fieldFlags[stock.Machine]
	var list string
	cmd := &cobra.Command{
		Use:   "date SERIAL --maker M",
		Short: "Say how old a machine is by its serial number, and why",
		Long: `Looks the serial number up in the house's tables, or in the published ones where
there is no house.

Type ? for each character that cannot be read: the answer is then every year that remains possible.
Type none when there is no number at all: patents, dated papers and the model still narrow the
years. What contradicts itself is shown and not settled.

Marks on the machine (--clue) and the years in which a maker made machines tell which years are
likely; they rule none out. A year that is only likely is said as "about".

--batch dates a whole list: a CSV file with the columns maker and serial, and perhaps model, patent,
patent-date, seen and clue. It is printed with from, to, best and basis behind each row; the basis
is contradicted where no year remains, and none where nothing is known or something in the row
cannot be read. Rows that lost other evidence so are counted at the end, beside the list.`,
		Example: `  pitman date 670974 --maker "Wheeler & Wilson"
  pitman date "6?09?4" --maker "Wheeler & Wilson" --seen 1871
  pitman date none --patent 1300000 --patent "D 20439@slide plate"
  pitman date --batch machines.csv > dated.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			switch {
			case list != "" && len(args) > 0:
				return registry.Errorf(registry.Invalid, "give a serial number or --batch, not both")
			case list != "" && fields.given():
				return registry.Errorf(registry.Invalid,
					"--batch takes makers and serials from its list and nothing else: leave the other "+
						"flags out")
			case list == "" && len(args) == 0 && !fields.given():
				return registry.Errorf(registry.Invalid,
					"serial number is missing: type pitman date SERIAL --maker M, or --batch FILE.csv for "+
						"a list")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if list != "" {
				return a.dateList(list)
			}
			m := stock.Machine{Serial: strings.Join(args, " ")}
			if len(args) == 0 {
				m.Serial = stamp.None // what else is known of it may still tell
			}
			if err := fields.apply(&m); err != nil {
				return err
			}
			if m.Maker == "" && !strings.EqualFold(m.Serial, stamp.None) {
				return registry.Errorf(registry.Invalid,
					"maker is missing: give --maker with the name on the bed or badge; pitman tables list "+
						"shows the makers that have tables")
			}
			tables, err := a.tables()
			if err != nil {
				return err
			}
			if m.Maker != "" {
				hint, ask := makers.HintFrom(tables, tables.Makers())(m.Maker)
				switch {
				case ask && a.json: // a program reads the answer, and nobody is there to be asked
					fmt.Fprintln(a.err, hint.Says())
				case ask:
					if m.Maker, err = a.settle(a.asker(), hint); err != nil {
						return err
					}
				}
			}
			q := m.Query()
			q.Now = a.now().Year()
			q.Here = q.Now
			answer, err := tables.Date(q)
			if err != nil {
				return err
			}
			return a.print(answer, func(w io.Writer) {
				for _, line := range answer.Lines() {
					fmt.Fprintln(w, line)
				}
			})
		},
	}
	fields = addFieldFlags(cmd.Flags(), stock.MachineFields, "maker", "model", "patent", "patent-date",
		"seen", "clue")
	cmd.Flags().StringVar(&list, "batch", "", "date every row of a CSV `FILE` (- for standard input)")
	return cmd
}

// dateList dates a list as it comes in.
func (a *app) dateList(name string) error {
	if a.json {
		return registry.Errorf(registry.Invalid, "--batch writes CSV, not JSON: leave --json out")
	}
	tables, err := a.tables()
	if err != nil {
		return err
	}
	in := a.in
	if name != "-" {
		f, err := openFile(name)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	undated, err := serials.Batch(in, a.data(), tables)
	if undated.Rows > 0 { // also where the list broke off: what came out of it may be used
		fmt.Fprintln(a.err, undated)
	}
	return err
}

// data is where a result for another program goes: byte for byte, unless a terminal would act on its control
// characters.
func (a *app) data() io.Writer {
	p, ok := a.out.(*plainWriter)
	if !ok {
		return a.out
	}
	if f, ok := p.w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return a.out
	}
	return p.w
}

// telling reads the tables, and names once what of them could not be understood: the answer may stand in it.
func (a *app) telling(read func() (*serials.Tables, error)) func() (*serials.Tables, error) {
	return sync.OnceValues(func() (*serials.Tables, error) {
		tables, err := read()
		if err != nil {
			return nil, err
		}
		for _, u := range tables.Unread() {
			fmt.Fprintf(a.err, "%s\n", u)
		}
		return tables, nil
	})
}

// tables is readTables, and names what of them could not be understood.
func (a *app) tables() (*serials.Tables, error) { return a.telling(a.readTables)() }

// readTables reads the house's serial tables without opening its registry; where there is no house, the
// published ones. A house that has lost its tables is told so: the published ones would date its machines
// otherwise than its own did.
func (a *app) readTables() (*serials.Tables, error) {
	tables, err := house.Tables(a.dir())
	if registry.CodeOf(err) == registry.NotFound {
		if _, none := house.Open(a.dir()); registry.CodeOf(none) == registry.NotFound {
			if a.houseDir != "" {
				fmt.Fprintf(a.err, "There is no house in %s: these are the published tables.\n", a.houseDir)
			}
			return serials.LoadFS(serials.Starters())
		}
	}
	return tables, err
}
