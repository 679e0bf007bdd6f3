package planning_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

func TestProposalForPrograms(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	h, other, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleHead(0),
		registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, h, other, b, registrytest.TreadleBase(0))
	registrytest.OpenOrder(t, w, "2032-03-01", 0, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 3},
		orders.OrderLine{Wanted: orders.ElectricOne, Asked: 1})
	p, err := w.Propose(registrytest.Ctx, nil)
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

// Whatever changes between the proposal and its confirmation, a piece, the line or the order, makes it
// nothing.
func TestReserveAllOrNothing(t *testing.T) {
	for name, change := range map[string]func(*house.Workshop, *stock.Machine, *stock.Base, string) error{
		"a head was corrected": func(w *house.Workshop, m *stock.Machine, _ *stock.Base, _ string) error {
			_, err := w.Amend(registrytest.Ctx, "RS", m.Tag, "",
				func(m *stock.Machine) error { m.Place = "bay 2"; return nil })
			return err
		},
		"a base was corrected": func(w *house.Workshop, _ *stock.Machine, b *stock.Base, _ string) error {
			_, err := w.AmendBase(registrytest.Ctx, "RS", b.Tag, "",
				func(b *stock.Base) error { b.Pins = 300 * registrytest.Mm; return nil })
			return err
		},
		"a head went back to the bench": func(w *house.Workshop, m *stock.Machine, _ *stock.Base,
			_ string) error {
			_, err := w.Hold(registrytest.Ctx, "RS", m.Tag, "squeaks")
			return err
		},
		"the line asks for less": func(w *house.Workshop, _ *stock.Machine, _ *stock.Base, o string) error {
			_, err := w.ChangeLine(registrytest.Ctx, "RS", o, 1, 1)
			return err
		},
		"the order was cancelled": func(w *house.Workshop, _ *stock.Machine, _ *stock.Base, o string) error {
			_, err := w.CancelOrder(registrytest.Ctx, "RS", o, "")
			return err
		},
		"another confirmed it": func(w *house.Workshop, _ *stock.Machine, _ *stock.Base, _ string) error {
			p, err := w.Propose(registrytest.Ctx, nil)
			if err != nil {
				return err
			}
			return w.Reserve(registrytest.Ctx, "RS", "", p.Reservations)
		},
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.OrderWorkshop(t)
			h, b := registrytest.TreadleHead(241*registrytest.Mm),
				registrytest.TreadleBase(241*registrytest.Mm)
			registrytest.InHand(t, w, registrytest.TreadleHead(241*registrytest.Mm), h,
				registrytest.TreadleBase(241*registrytest.Mm), b)
			number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
				orders.OrderLine{Wanted: orders.TreadleSet, Asked: 2})
			p, err := w.Propose(registrytest.Ctx, nil)
			require.NoError(t, err)
			require.Len(t, p.Reservations, 2)
			require.NoError(t, change(w, h, b, number))
			before, err := w.ViewOrder(registrytest.Ctx, number)
			require.NoError(t, err)
			err = w.Reserve(registrytest.Ctx, "QX", "", p.Reservations)
			assert.Equal(t, registry.Conflict, registry.CodeOf(err), "%v", err)
			after, err := w.ViewOrder(registrytest.Ctx, number)
			require.NoError(t, err)
			assert.Equal(t, before, after)
		})
	}
}

// What is alike but for its age goes in the order in which it came, and what came together stays together on
// a tie.
func TestOldestFirstAndTogether(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	var heads []*stock.Machine
	for day := range 3 {
		h := registrytest.TreadleHead(241 * registrytest.Mm)
		h.LoggedAt = w.Now().AddDate(0, 0, -day)
		heads = append(heads, h)
		registrytest.InHand(t, w, h)
	}
	b1, b2 := registrytest.TreadleBase(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, b1, b2)
	_, err := w.AmendBase(registrytest.Ctx, "QX", b2.Tag, "",
		func(b *stock.Base) error { b.ArrivedWith = heads[2].Tag; return nil })
	require.NoError(t, err)
	registrytest.OpenOrder(t, w, "2032-03-01", 0, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 2})
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.Len(t, p.Reservations, 2)
	assert.Equal(t, heads[2].Tag, p.Reservations[0].Head.Tag)
	assert.Equal(t, b2.Tag, p.Reservations[0].Base.Tag)
	assert.Contains(t, p.Orders[0].Lines[0].Sets[0].Reasons, "arrived together")
	assert.Equal(t, heads[1].Tag, p.Reservations[1].Head.Tag)
}

func TestElectricMachinesSuitTheSupply(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	electric := func(volts, hertz int, motor string) *stock.Machine {
		m := registrytest.TreadleHead(0)
		m.Drive, m.SafetyAt, m.SafetyBy, m.Class = registry.Electric, w.Now(), "QX", "II"
		m.Plate = electrical.Nameplate{Motor: motor, Plug: "G"}
		if volts > 0 {
			m.Plate.Volts = measure.Rating{{Low: volts, High: volts}}
		}
		if hertz > 0 {
			m.Plate.Hertz = measure.Rating{{Low: hertz, High: hertz}}
		}
		return m
	}
	good := []*stock.Machine{electric(230, 50, "induction"), electric(240, 50, "unknown"),
		electric(220, 60, "brush"), electric(250, 0, "brush")}
	bad := map[*stock.Machine]string{
		electric(120, 50, "brush"):    "nameplate 120 V, supply 230 V ± 10 %: 110 V off",
		electric(0, 50, "brush"):      "nameplate volts are not known",
		electric(230, 60, "unknown"):  "nameplate 60 Hz, supply 50 Hz",
		electric(230, 0, "induction"): "nameplate hertz are not known",
	}
	old := electric(230, 50, "brush")
	old.SafetyAt = w.Now().AddDate(-2, 0, 0)
	bad[old] = "takes the mains, without a safety pass that stands"
	for _, m := range good {
		registrytest.InHand(t, w, m)
	}
	for m := range bad {
		registrytest.InHand(t, w, m)
	}
	registrytest.OpenOrder(t, w, "2032-03-01", 0, orders.OrderLine{Wanted: orders.ElectricOne, Asked: 9})
	p, err := w.Propose(registrytest.Ctx, nil)
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

// BenchmarkPropose is a whole proposal, from the file to the reasons, for 2,000 heads, 2,000 bases and 50
// orders: with measures taken from a list of beds, and with every piece measured by itself.
func BenchmarkPropose(b *testing.B) {
	b.Run("by patterns", func(b *testing.B) { benchmarkPropose(b, 0) })
	b.Run("each measured", func(b *testing.B) { benchmarkPropose(b, 1000) })
}

func benchmarkPropose(b *testing.B, scatter int) {
	w := registrytest.OrderWorkshop(b)
	r := rand.New(rand.NewPCG(1, 2))
	var records []registry.Record
	for i := range 2000 {
		bed := measure.Length(230+5*r.IntN(12)) * registrytest.Mm
		h, under := registrytest.TreadleHead(bed), registrytest.TreadleBase(bed)
		if scatter > 0 {
			h.Pins += measure.Length(r.IntN(scatter))
			under.Pins += measure.Length(r.IntN(scatter))
			under.OpeningLength += measure.Length(r.IntN(scatter))
		}
		h.Serial, h.LoggedAt, under.LoggedAt = fmt.Sprint(i), w.Now().AddDate(0, 0, -r.IntN(1000)),
			w.Now().AddDate(0, 0, -r.IntN(1000))
		if i%4 == 0 {
			h.Drive = registry.Hand
		}
		if i%5 == 0 {
			under.Top = stock.TopReplaceable
		}
		records = append(records, h, under)
	}
	registrytest.InHand(b, w, records...)
	for i := range 50 {
		registrytest.OpenOrder(b, w, fmt.Sprintf("2032-%02d-01", 1+i%12), i%3,
			orders.OrderLine{Wanted: orders.TreadleSet, Asked: 25},
			orders.OrderLine{Wanted: orders.HandMachine, Asked: 5})
	}
	for b.Loop() {
		p, err := w.Propose(registrytest.Ctx, nil)
		require.NoError(b, err)
		require.True(b, p.Optimal)
	}
}
