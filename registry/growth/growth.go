// Package growth makes houses as large as decades of work leave them, to measure how the registry grows.
//
// Every machine goes through the same methods that people's commands call, so the rows and the histories are
// the real ones; only the commits are taken together. The same number of machines gives the same house each
// time.
package growth

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// floor is how many machines ago one was taken in that may still be on the floor. An older one is long mended
// and sold: what waits grows with what comes in a month, not with how many decades a house has been at it.
const floor = 10_000

// together is how many machines one commit takes.
const together = 5000

// Fill adds machines to a new house, from the first working day on, 40 a day.
func Fill(ctx context.Context, h *house.House, db *sqlite.DB, machines int) error {
	dice := rand.New(rand.NewPCG(1871, uint64(machines)))
	clock := time.Date(1995, 1, 2, 9, 0, 0, 0, time.UTC)
	for done := 0; done < machines; {
		err := db.Batch(ctx, func(store stock.Store) error {
			w := h.Workshop(store)
			w.Config.Safety.Competent = []string{electrician}
			w.Now = func() time.Time {
				clock = clock.Add(time.Second)
				return clock
			}
			for range min(together, machines-done) {
				if done++; done%40 == 0 {
					clock = clock.AddDate(0, 0, 1)
				}
				if err := life(ctx, w, dice, done, machines-done < floor); err != nil {
					return fmt.Errorf("machine %d: %w", done, err)
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

var people = []registry.Initials{"QX", "MB", "TV", "RS", "JK", "LO"}

// Who tests, and who looks twice, is nobody who mends.
const (
	tester      = "ZZ"
	electrician = "EL"
)

// life takes a machine in and carries it on as far as the dice say: most are mended and tested, and where it
// may be on the floor yet, a few wait at each stage.
func life(ctx context.Context, w *house.Workshop, dice *rand.Rand, n int, onFloor bool) error {
	by := people[dice.IntN(len(people))]
	m := Machine(dice, n)
	if err := w.Log(ctx, by, m, false); err != nil {
		return err
	}
	steps := []func() error{
		func() error {
			way := "refurbish"
			switch dice.IntN(20) {
			case 0:
				way = "scrap"
			case 1, 2, 3:
				way = "parts"
			case 4:
				if m.Drive != registry.Electric { // which is sold tested, or with its plug cut off
					way = "sale"
				}
			}
			_, err := w.Triage(ctx, by, m.Tag, way, "as the dice say", tester)
			m.Stage = map[string]registry.Stage{"refurbish": registry.Queued}[way]
			return err
		},
		func() error {
			_, err := w.BenchStart(ctx, by, m.Tag, bench.WorkNote{})
			return err
		},
		func() error {
			_, err := w.BenchFinish(ctx, by, m.Tag,
				bench.WorkNote{Jobs: []string{"oil"}, Minutes: 30 + dice.IntN(90)})
			return err
		},
		func() error {
			if m.Drive != registry.Electric {
				return nil
			}
			_, _, err := w.Safety(ctx, electrician, m.Tag,
				electrical.SafetyForm{Class: "II", Visual: "pass", Insulation: "20", SwitchOn: true,
					Leakage: "0.1", Polarity: "pass", Fuse: "3", Volts: "230", Hertz: "50", Watts: "85"})
			return err
		},
		func() error {
			_, _, err := w.Test(ctx, tester, m.Tag, bench.TestForm{PassAll: true})
			return err
		},
		func() error {
			place := place(dice)
			_, err := w.Amend(ctx, by, m.Tag, "", func(m *stock.Machine) error {
				m.Place = place
				return nil
			})
			return err
		},
		func() error {
			_, err := w.Triage(ctx, by, m.Tag, "sale", "as the dice say", tester)
			return err
		},
	}
	for _, step := range steps {
		// Some stay where they are, at each stage.
		if dice.IntN(300) == 0 && onFloor || m.Stage == "" {
			return nil
		}
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

var (
	makers = []struct {
		name, models string
		drives       []registry.Drive
	}{
		{"Willcox & Gibbs", "Automatic", []registry.Drive{registry.Hand, registry.Treadle}},
		{"Grover & Baker", "Number One", []registry.Drive{registry.Treadle}},
		{"Harrow & Finch", "Swallow", []registry.Drive{registry.Hand, registry.Treadle}},
		{"Ostermann", "Kiebitz", []registry.Drive{registry.Treadle, registry.Electric}},
		{"Tamarisk", "Coppice", []registry.Drive{registry.Hand, registry.Electric}},
	}
	donors = []string{"Tolvane parish hall", "the Okonjo family", "Lantern Row laundry",
		"estate of a tailor in Eldwray", "left at the door"}
	conditions = []string{"complete", "complete, stiff", "seized", "rusty handwheel", "bobbin case missing",
		"dusty, turns freely"}
	things = []string{"drawer", "lid", "key", "lamp", "slide plate", "manual", "belt", "bobbin",
		"needle box", "oil can"}
	states = []string{"with it", "missing", "cracked", "from another machine", "to be returned",
		"in the left drawer"}
)

// Machine throws the n-th machine. Its serial number is its own.
func Machine(dice *rand.Rand, n int) *stock.Machine {
	pick := func(words []string) string { return words[dice.IntN(len(words))] }
	maker := makers[dice.IntN(len(makers))]
	m := &stock.Machine{
		Maker: maker.name, Model: maker.models, Serial: fmt.Sprint(7*n + 3),
		Drive: maker.drives[dice.IntN(len(maker.drives))],
		Donor: fmt.Sprintf("%s, %d", pick(donors), dice.IntN(500)), Condition: pick(conditions),
		Place: place(dice),
		Note: fmt.Sprintf("%s %s, %s %s; lot %d", pick(things), pick(states), pick(things), pick(states),
			n/25),
	}
	if dice.IntN(20) == 0 {
		m.Seen = []int{1900 + dice.IntN(60)}
	}
	return m
}

func place(dice *rand.Rand) string {
	return fmt.Sprintf("bay %d shelf %d", dice.IntN(40), dice.IntN(12))
}
