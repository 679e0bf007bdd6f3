package main

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/stock"
)

//go:embed demo
var demoFiles embed.FS

func (a *app) demoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "demo DIR",
		Short: "Build an invented workshop in DIR and show what it can do",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			a.houseDir = args[0]
			entries, err := os.ReadDir(a.houseDir)
			if len(entries) > 0 || err != nil && !errors.Is(err, fs.ErrNotExist) {
				return registry.Errorf(registry.Conflict,
					"%s is not empty: name a folder that is not there yet", a.houseDir)
			}
			today := a.now()
			if err := a.demo(cmd.Context()); err != nil {
				// what is half built would stand in the way of another try
				return errors.Join(err, os.RemoveAll(a.houseDir))
			}
			a.now = func() time.Time { return today }
			return a.tour(cmd.Context())
		},
	}
}

// demoDay is the sewing day of the demo: a Saturday at nine, two weeks and some days ago, so that what has
// waited since then has waited for so long today, too.
func demoDay(now time.Time) time.Time {
	y, m, d := now.Date()
	day := time.Date(y, m, d-15, 9, 0, 0, 0, time.UTC)
	return day.AddDate(0, 0, -(int(day.Weekday())+1)%7)
}

// demo builds the same invented workshop each time: its dice are fixed, and its clock runs from the sewing
// day.
func (a *app) demo(ctx context.Context) error {
	first := demoDay(a.now())
	inDays := func(days int) string { return first.AddDate(0, 0, days).Format(time.DateOnly) }
	named := house.Defaults().House
	named.Name, named.Letters = "The Lantern Row workshop", "LR"
	if _, err := house.Init(a.houseDir, named); err != nil {
		return err
	}
	if err := a.copyDemoFiles(); err != nil {
		return err
	}
	if err := a.addDemoRules(inDays(-187)); err != nil {
		return err
	}
	clock := first
	a.now = func() time.Time {
		clock = clock.Add(4 * time.Minute)
		return clock
	}
	return a.withQuietly(func(d *workplace) error {
		for i, m := range demoMachines() {
			if err := d.Log(ctx, demoPeople[i%len(demoPeople)], &m, false); err != nil {
				return fmt.Errorf("demo machine %d: %w", i+1, err)
			}
		}
		if err := addDemoBases(ctx, d); err != nil {
			return err
		}
		if err := addDemoStock(ctx, d); err != nil {
			return err
		}
		err := workDemo(ctx, d, func(days int) {
			clock = time.Date(clock.Year(), clock.Month(), clock.Day()+days, 9, 0, 0, 0, time.UTC)
		})
		if err != nil {
			return err
		}
		return addDemoOrders(ctx, d, inDays(106), inDays(132))
	})
}

// withQuietly opens the house without welcoming its invented people.
func (a *app) withQuietly(fn func(*workplace) error) error {
	return a.with(func(d *workplace) error {
		d.Welcome, d.Unsigned = nil, nil
		return fn(d)
	})
}

func (a *app) copyDemoFiles() error {
	return fs.WalkDir(demoFiles, "demo", func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rest, err := filepath.Rel("demo", path)
		if err != nil {
			return err
		}
		target := filepath.Join(a.houseDir, rest)
		if entry.IsDir() {
			return os.MkdirAll(target, 0o700)
		}
		text, err := fs.ReadFile(demoFiles, path)
		if err != nil {
			return err
		}
		return os.WriteFile(target, text, 0o600)
	})
}

var demoPeople = []registry.Initials{"QX", "MB", "TV"}

// demoMachines throws sixty machines, as they might come in on two sewing days.
func demoMachines() []stock.Machine {
	dice := rand.New(rand.NewPCG(1871, 1926))
	pick := func(words ...string) string { return words[dice.IntN(len(words))] }
	number := func(from, to int) int { return from + dice.IntN(to-from+1) }
	makes := []func() stock.Machine{
		func() stock.Machine {
			return stock.Machine{Maker: "Harrow & Finch", Serial: fmt.Sprintf("K%d", number(1, 99999)),
				Model: "Swallow", Drive: registry.Hand}
		},
		func() stock.Machine {
			return stock.Machine{Maker: "Harrow & Finch", Serial: fmt.Sprintf("KA%d", number(1, 190000)),
				Model: "Heron", Drive: registry.Treadle}
		},
		func() stock.Machine {
			return stock.Machine{Maker: "Harrow & Finch", Serial: fmt.Sprint(number(1, 61999)),
				Drive: registry.Treadle, Stitch: "chainstitch"}
		},
		func() stock.Machine {
			return stock.Machine{Maker: "Ostermann", Serial: fmt.Sprintf("B%d", number(100000, 259999)),
				Model: "Kiebitz",
				Drive: registry.Drive(pick("hand", "treadle"))}
		},
		func() stock.Machine {
			return stock.Machine{Maker: "Ostermann", Serial: fmt.Sprintf("BR%d", number(1, 130000)),
				Model: "Drossel", Drive: registry.Electric}
		},
		func() stock.Machine {
			return stock.Machine{Maker: "Tamarisk", Serial: fmt.Sprintf("T%d", number(1, 700000)),
				Model: "Coppice",
				Drive: registry.Drive(pick("hand", "electric"))}
		},
		func() stock.Machine {
			return stock.Machine{Maker: "Tamarisk", Serial: fmt.Sprintf("TZ%d", number(1, 120000)),
				Model: "Zigzag",
				Drive: registry.Electric, Stitch: "zigzag"}
		},
	}
	machines := make([]stock.Machine, 60)
	for i := range machines {
		m := makes[i%len(makes)]()
		m.Donor = pick("Tolvane parish hall", "the Okonjo family", "Lantern Row laundry",
			"estate of a tailor in Eldwray", "left at the door")
		m.Condition = pick("complete", "complete, stiff", "seized", "rusty handwheel", "bobbin case missing",
			"dusty, turns freely")
		m.Place = pick("bay 1", "bay 2", "bay 3", "under the stairs")
		switch i {
		case 22: // worn stamping
			m.Serial = "KA5?214"
		case 36: // no plate left, but a dated receipt in the drawer
			m.Serial, m.Seen, m.Note = stock.NoSerial, []int{1931}, "receipt of 1931 in the drawer"
		case 47:
			m.Patents = []string{"1400000"}
		}
		// crank boss and groove: it sews either way
		if m.Drive != registry.Electric && (m.Model == "Kiebitz" || m.Model == "Coppice") && i%2 == 1 {
			m.EitherWay = stock.Yes
		}
		machines[i] = m
	}
	return machines
}

// tour prints what to try next in the demo house.
func (a *app) tour(ctx context.Context) error {
	var first *stock.Machine
	var count int
	err := a.with(func(d *workplace) error {
		return d.Store.View(ctx, func(r stock.Reader) (err error) {
			if count, err = r.Count(stock.MachineFilter{}); err != nil {
				return err
			}
			first, err = stock.MachineByTag(r, registry.NewTag(d.Config.House.Letters, 2))
			return err
		})
	})
	if err != nil {
		return err
	}
	if a.json {
		return a.print(struct {
			House    string `json:"house"`
			Machines int    `json:"machines"`
		}{a.houseDir, count}, nil)
	}
	fmt.Fprintf(a.out,
		`%s is now the Lantern Row workshop, invented from door to crate, with %d machines. Try:

`, a.houseDir, count)
	columns(a.out, func(w io.Writer) {
		step := func(what, command string) {
			fmt.Fprintf(w, "  %s\tpitman --house %s %s\n", what, a.houseDir, command)
		}
		step("How old is a machine?", `date KA73000 --maker "Harrow & Finch"`)
		step("One figure is worn away:", `date "KA?5000" --maker "Harrow & Finch"`)
		step("Log one yourself:", "log --by QX")
		step("One machine:", "show "+string(first.Tag))
		step("What happened to it:", "history "+string(first.Tag))
		step("What came in of the 1890s:", "list --made 1890-1899")
		step("What is there to do?", "worklist")
		step("What fills the orders?", "match")
		step("Which base fits that one?", "fit "+string(first.Tag))
		step("What goes with it?", "kit show "+string(first.Tag))
		step("Its label, for want of a printer:", "label "+string(first.Tag)+" --text")
		step("Labels of all bases, to print:", "label --stand -o bases.pdf")
		step("Can all eyes tell labels apart?", "scheme check")
		step("Are the tables sound?", "tables check")
		step("All of it in a spreadsheet:", "export machines -o machines.csv")
		step("Read the handbook:", "help sewing-day")
		step("A whole sewing day on one screen:", "desk --by QX")
	})
	fmt.Fprintln(a.out,
		"\nInstead of pitman, go run ./cmd/pitman does it from the source. Delete the folder when you are "+
			"done.")
	return nil
}
