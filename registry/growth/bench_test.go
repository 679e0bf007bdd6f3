package growth_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/growth"
	"pitman/registry/house"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// sizes are the houses to measure in, smallest first. Others are named in the environment:
// PITMAN_HOUSES=10000,100000,1000000.
func sizes(b *testing.B) (machines []int) {
	for _, text := range strings.Split(os.Getenv("PITMAN_HOUSES"), ",") {
		if text == "" {
			return []int{1000, 10_000}
		}
		n, err := strconv.Atoi(text)
		require.NoError(b, err)
		machines = append(machines, n)
	}
	return machines
}

// BenchmarkGrowth does in process what people do, in houses of several sizes. Each tells how many times as
// long it takes as in the smallest house of the run. How matching grows is measured beside it, in
// registry/match: it depends on what is ready and asked for, not on how many machines a house has ever had.
func BenchmarkGrowth(b *testing.B) {
	type place struct {
		w      *house.Workshop
		middle registry.Tag
		serial string // of that machine
	}
	list := func(f stock.MachineFilter) func(place) error {
		return func(p place) error {
			f.Limit = 50
			return p.w.Store.View(ctx, func(r stock.Reader) error {
				return r.Machines(f, func(*stock.Machine) error { return nil })
			})
		}
	}
	serial := 0
	doings := []struct {
		name string
		do   func(place) error
	}{
		{"log", func(p place) error {
			serial++
			return p.w.Log(ctx, "QX",
				&stock.Machine{Maker: "Harrow & Finch", Serial: fmt.Sprint("N", serial),
					Drive: registry.Hand}, false)
		}},
		{"show", func(p place) error {
			_, err := p.w.Machine(ctx, p.middle)
			return err
		}},
		{"list", list(stock.MachineFilter{})},
		{"list after", func(p place) error { return list(stock.MachineFilter{After: p.middle})(p) }},
		{"list stage", list(stock.MachineFilter{Stage: registry.Sold})},
		{"list stage and drive", list(stock.MachineFilter{Stage: registry.Check, Drive: registry.Electric})},
		{"list maker", list(stock.MachineFilter{Maker: "Ostermann"})},
		{"list place", list(stock.MachineFilter{Place: "bay 3 shelf 4"})},
		{"list made", list(stock.MachineFilter{MadeFrom: 1858, MadeTo: 1858})},
		{"list text in many", list(stock.MachineFilter{Text: "left drawer"})},
		{"list text in one", func(p place) error { return list(stock.MachineFilter{Text: p.serial})(p) }},
		{"list text in none", list(stock.MachineFilter{Text: "grand piano"})},
		{"worklist", func(p place) error {
			_, err := p.w.Worklist(ctx, "")
			return err
		}},
		{"report of a year", func(p place) error {
			_, err := p.w.Report(ctx, "1995-01-01", "1995-12-31")
			return err
		}},
		{"people", func(p place) error {
			return p.w.Store.View(ctx, func(r stock.Reader) error {
				_, err := r.People()
				return err
			})
		}},
		{"redate", func(p place) error {
			_, err := p.w.Stale(ctx)
			return err
		}},
	}
	var places []place
	for _, n := range sizes(b) {
		h, db := filled(b, n)
		b.Cleanup(func() { require.NoError(b, db.Close()) })
		w := h.Workshop(db)
		m, err := w.Machine(ctx, registry.NewTag("PM", int64(n/2)))
		require.NoError(b, err)
		places = append(places, place{w, m.Tag, m.Serial})
	}
	for _, d := range doings {
		b.Run(d.name, func(b *testing.B) {
			var first time.Duration // for one, in the smallest house
			for i, n := range sizes(b) {
				b.Run(fmt.Sprint(n), func(b *testing.B) {
					for b.Loop() {
						require.NoError(b, d.do(places[i]))
					}
					each := b.Elapsed() / time.Duration(b.N)
					if i == 0 {
						first = each
					}
					b.ReportMetric(float64(each)/float64(first), "times-smallest")
				})
			}
		})
	}
}

// BenchmarkFill makes a house of a thousand machines, with their histories.
func BenchmarkFill(b *testing.B) {
	for b.Loop() {
		_, db := filled(b, 1000)
		require.NoError(b, db.Close())
	}
}

// filled makes a house with so many machines, for the caller to close.
func filled(b *testing.B, machines int) (*house.House, *sqlite.DB) {
	dir := filepath.Join(b.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(b, err)
	h, err := house.Open(dir)
	require.NoError(b, err)
	db, err := h.Registry()
	require.NoError(b, err)
	require.NoError(b, growth.Fill(ctx, h, db, machines))
	return h, db
}
