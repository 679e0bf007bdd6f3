package orders_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/sqlite"
)

var ctx = context.Background()

const mm = registry.Millimetre

// workshop is an empty registry in a file of its own.
func workshop(t testing.TB) *registry.Workshop {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, sqlite.Create(path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return &registry.Workshop{
		Store:  db,
		Config: registry.Defaults(),
		Now:    func() time.Time { return time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC) },
		Lists: registry.Lists{Prices: func() ([]registry.PurchasePrice, error) {
			return []registry.PurchasePrice{{Wanted: registry.TreadleSet, Currency: "EUR", Price: 99.95}, {Wanted: registry.ElectricOne, Currency: "USD", Price: 1}}, nil
		}},
	}
}

// stock puts pieces in as they stand, without the way there.
func stock(t testing.TB, w *registry.Workshop, records ...registry.Record) {
	t.Helper()
	err := w.Store.Update(ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "log"}, func(tx registry.Tx) error {
		for _, rec := range records {
			n, err := tx.NextNumber()
			if err != nil {
				return err
			}
			switch r := rec.(type) {
			case *registry.Machine:
				r.Tag, r.LoggedBy = registry.NewTag("PM", n), "QX"
				if r.LoggedAt.IsZero() {
					r.LoggedAt = w.Now()
				}
			case *registry.Base:
				r.Tag, r.LoggedBy = registry.NewTag("PM", n), "QX"
				if r.LoggedAt.IsZero() {
					r.LoggedAt = w.Now()
				}
			}
			if err := tx.Put(rec); err != nil {
				return err
			}
		}
		return nil
	})
	require.NoError(t, err)
}

func head(pins registry.Length) *registry.Machine {
	return &registry.Machine{Maker: "Arden", Serial: "1", Drive: registry.Treadle, Stage: registry.Ready, Stitch: "lockstitch",
		Head: registry.Head{BedLength: 371 * mm, BedWidth: 178 * mm, Pins: pins, Wheel: 70 * mm, Groove: registry.Yes}}
}

func base(pins registry.Length) *registry.Base {
	return &registry.Base{Stage: registry.Ready, Top: registry.TopFixed, OpeningLength: 374 * mm, OpeningWidth: 181 * mm, Pins: pins, Flywheel: 305 * mm}
}

func order(t testing.TB, w *registry.Workshop, due string, priority int, lines ...registry.OrderLine) string {
	t.Helper()
	o := &registry.Order{Partner: "Marsh Lane centre", Due: due, Priority: priority, Supply: "230V/50Hz/G"}
	require.NoError(t, w.OpenOrder(ctx, "QX", o))
	for i := range lines {
		lines[i].Order = o.Number
		require.NoError(t, w.AddLine(ctx, "QX", &lines[i]))
	}
	return o.Number
}

func TestProposalForPrograms(t *testing.T) {
	w := workshop(t)
	h, other, b := head(241*mm), head(0), base(241*mm)
	stock(t, w, h, other, b, base(0))
	order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 3}, registry.OrderLine{Wanted: registry.ElectricOne, Asked: 1})
	p, err := orders.Propose(ctx, w, nil)
	require.NoError(t, err)
	text, err := json.Marshal(p)
	require.NoError(t, err)
	var got struct {
		Orders []struct {
			Order string
			Lines []struct {
				Kind                 string
				Asked, Filled, Short int
				Fund                 *float64
				Sets                 []struct {
					Head, Base  string
					WorkMinutes int `json:"work_minutes"`
					Reasons     []string
				}
				Misses []struct{ Tag, Why string }
			}
		}
		TotalFilled      int `json:"total_filled"`
		TotalWorkMinutes int `json:"total_work_minutes"`
		Optimal          bool
	}
	require.NoError(t, json.Unmarshal(text, &got))
	assert.Equal(t, 1, got.TotalFilled)
	assert.True(t, got.Optimal)
	line := got.Orders[0].Lines[0]
	assert.Equal(t, "treadle-set", line.Kind)
	assert.Equal(t, []int{3, 1, 2}, []int{line.Asked, line.Filled, line.Short})
	assert.InDelta(t, 199.90, *line.Fund, 1e-9)
	assert.Equal(t, string(h.Tag), line.Sets[0].Head)
	assert.Equal(t, string(b.Tag), line.Sets[0].Base)
	assert.Contains(t, line.Sets[0].Reasons, "in stock since 2031-05-04")
	require.NotEmpty(t, line.Misses)
	assert.Equal(t, string(other.Tag), line.Misses[0].Tag)
	assert.Contains(t, line.Misses[0].Why, "worth measuring: hinge pins")
	assert.Nil(t, got.Orders[0].Lines[1].Fund, "no price in the order's currency")
	assert.Empty(t, got.Orders[0].Lines[1].Misses)
}

// Whatever changes between the proposal and its confirmation, a piece, the line or the order, makes it nothing.
func TestReserveAllOrNothing(t *testing.T) {
	for name, change := range map[string]func(*registry.Workshop, *registry.Machine, *registry.Base, string) error{
		"a head was corrected": func(w *registry.Workshop, m *registry.Machine, _ *registry.Base, _ string) error {
			_, err := w.Amend(ctx, "RS", m.Tag, "", func(m *registry.Machine) error { m.Place = "bay 2"; return nil })
			return err
		},
		"a base was corrected": func(w *registry.Workshop, _ *registry.Machine, b *registry.Base, _ string) error {
			_, err := w.AmendBase(ctx, "RS", b.Tag, "", func(b *registry.Base) error { b.Pins = 300 * mm; return nil })
			return err
		},
		"a head went back to the bench": func(w *registry.Workshop, m *registry.Machine, _ *registry.Base, _ string) error {
			_, err := w.Hold(ctx, "RS", m.Tag, "squeaks")
			return err
		},
		"the line asks for less": func(w *registry.Workshop, _ *registry.Machine, _ *registry.Base, o string) error {
			_, err := w.ChangeLine(ctx, "RS", o, 1, 1)
			return err
		},
		"the order was cancelled": func(w *registry.Workshop, _ *registry.Machine, _ *registry.Base, o string) error {
			_, err := w.CancelOrder(ctx, "RS", o, "")
			return err
		},
		"another confirmed it": func(w *registry.Workshop, _ *registry.Machine, _ *registry.Base, _ string) error {
			p, err := orders.Propose(ctx, w, nil)
			if err != nil {
				return err
			}
			return w.Reserve(ctx, "RS", "", p.Reservations)
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := workshop(t)
			h, b := head(241*mm), base(241*mm)
			stock(t, w, head(241*mm), h, base(241*mm), b)
			number := order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 2})
			p, err := orders.Propose(ctx, w, nil)
			require.NoError(t, err)
			require.Len(t, p.Reservations, 2)
			require.NoError(t, change(w, h, b, number))
			before, err := w.ViewOrder(ctx, number)
			require.NoError(t, err)
			err = w.Reserve(ctx, "QX", "", p.Reservations)
			assert.Equal(t, registry.Conflict, registry.CodeOf(err), "%v", err)
			after, err := w.ViewOrder(ctx, number)
			require.NoError(t, err)
			assert.Equal(t, before, after)
		})
	}
}

// What is alike but for its age goes in the order in which it came, and what came together stays together on a tie.
func TestOldestFirstAndTogether(t *testing.T) {
	w := workshop(t)
	var heads []*registry.Machine
	for day := range 3 {
		h := head(241 * mm)
		h.LoggedAt = w.Now().AddDate(0, 0, -day)
		heads = append(heads, h)
		stock(t, w, h)
	}
	b1, b2 := base(241*mm), base(241*mm)
	stock(t, w, b1, b2)
	_, err := w.AmendBase(ctx, "QX", b2.Tag, "", func(b *registry.Base) error { b.ArrivedWith = heads[2].Tag; return nil })
	require.NoError(t, err)
	order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 2})
	p, err := orders.Propose(ctx, w, nil)
	require.NoError(t, err)
	require.Len(t, p.Reservations, 2)
	assert.Equal(t, heads[2].Tag, p.Reservations[0].Head.Tag)
	assert.Equal(t, b2.Tag, p.Reservations[0].Base.Tag)
	assert.Contains(t, p.Orders[0].Lines[0].Sets[0].Reasons, "arrived together")
	assert.Equal(t, heads[1].Tag, p.Reservations[1].Head.Tag)
}

func TestElectricMachinesSuitTheSupply(t *testing.T) {
	w := workshop(t)
	electric := func(volts, hertz int, motor string) *registry.Machine {
		m := head(0)
		m.Drive, m.SafetyAt, m.SafetyBy, m.Class = registry.Electric, w.Now(), "QX", "II"
		m.Plate = registry.Nameplate{Motor: motor, Plug: "G"}
		if volts > 0 {
			m.Plate.Volts = registry.Rating{{Low: volts, High: volts}}
		}
		if hertz > 0 {
			m.Plate.Hertz = registry.Rating{{Low: hertz, High: hertz}}
		}
		return m
	}
	good := []*registry.Machine{electric(230, 50, "induction"), electric(240, 50, "unknown"), electric(220, 60, "brush"), electric(250, 0, "brush")}
	bad := map[*registry.Machine]string{
		electric(120, 50, "brush"):    "nameplate 120 V, supply 230 V ± 10 %: 110 V off",
		electric(0, 50, "brush"):      "nameplate volts are not known",
		electric(230, 60, "unknown"):  "nameplate 60 Hz, supply 50 Hz",
		electric(230, 0, "induction"): "nameplate hertz are not known",
	}
	old := electric(230, 50, "brush")
	old.SafetyAt = w.Now().AddDate(-2, 0, 0)
	bad[old] = "is electric, without a safety pass that stands"
	for _, m := range good {
		stock(t, w, m)
	}
	for m := range bad {
		stock(t, w, m)
	}
	order(t, w, "2032-03-01", 0, registry.OrderLine{Wanted: registry.ElectricOne, Asked: 9})
	p, err := orders.Propose(ctx, w, nil)
	require.NoError(t, err)
	assert.Equal(t, len(good), p.Filled)
	why := map[registry.Tag]string{}
	for _, miss := range p.Orders[0].Lines[0].Misses {
		why[miss.Tag] = miss.Why
	}
	for m, says := range bad {
		assert.Contains(t, why[m.Tag], says)
	}
}

// BenchmarkPropose is a whole proposal, from the file to the reasons, for 2,000 heads, 2,000 bases and 50 orders: with measures taken
// from a list of beds, and with every piece measured by itself.
func BenchmarkPropose(b *testing.B) {
	b.Run("by patterns", func(b *testing.B) { benchmarkPropose(b, 0) })
	b.Run("each measured", func(b *testing.B) { benchmarkPropose(b, 1000) })
}

func benchmarkPropose(b *testing.B, scatter int) {
	w := workshop(b)
	r := rand.New(rand.NewPCG(1, 2))
	var records []registry.Record
	for i := range 2000 {
		bed := registry.Length(230+5*r.IntN(12)) * mm
		h, under := head(bed), base(bed)
		if scatter > 0 {
			h.Pins += registry.Length(r.IntN(scatter))
			under.Pins += registry.Length(r.IntN(scatter))
			under.OpeningLength += registry.Length(r.IntN(scatter))
		}
		h.Serial, h.LoggedAt, under.LoggedAt = fmt.Sprint(i), w.Now().AddDate(0, 0, -r.IntN(1000)), w.Now().AddDate(0, 0, -r.IntN(1000))
		if i%4 == 0 {
			h.Drive = registry.Hand
		}
		if i%5 == 0 {
			under.Top = registry.TopReplaceable
		}
		records = append(records, h, under)
	}
	stock(b, w, records...)
	for i := range 50 {
		order(b, w, fmt.Sprintf("2032-%02d-01", 1+i%12), i%3, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 25},
			registry.OrderLine{Wanted: registry.HandMachine, Asked: 5})
	}
	for b.Loop() {
		p, err := orders.Propose(ctx, w, nil)
		require.NoError(b, err)
		require.True(b, p.Optimal)
	}
}
