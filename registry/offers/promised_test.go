package offers_test

import (
	"maps"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/measure"
	"pitman/registry/offers"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// place is a treadle set, with the order that it is for.
type place struct {
	*testing.T
	w          *house.Workshop
	number     string
	head, base registry.Tag
}

// inStock is a set that fits an order, and is on none.
func inStock(t *testing.T, change func(*stock.Machine)) *place {
	w := registrytest.OrderWorkshop(t)
	w.Spares.Lists.Kits = nil
	h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	h.TestedAt, h.TestedBy = w.Now(), "RS"
	change(h)
	registrytest.InHand(t, w, h, b)
	return &place{T: t, w: w, head: h.Tag, base: b.Tag,
		number: registrytest.OpenOrder(t, w, "2032-03-01", 0,
			orders.OrderLine{Wanted: orders.TreadleSet, Asked: 3})}
}

func asIs(*stock.Machine) {}

// reserved is that set on its order.
func reserved(t *testing.T, change func(*stock.Machine)) *place {
	p := inStock(t, change)
	plan, err := p.w.Propose(Ctx, nil)
	require.NoError(t, err)
	require.Len(t, plan.Reservations, 1)
	require.NoError(t, p.w.Reserve(Ctx, "QX", "", plan.Reservations))
	return p
}

func (p *place) packed(tags ...registry.Tag) *place {
	_, err := p.w.Pack(Ctx, "QX", p.number, tags, "")
	require.NoError(p, err)
	return p
}

// set writes records as they would be after something else was done.
func (p *place) set(change func(stock.Tx, *stock.Machine, *stock.Base) error) *place {
	require.NoError(p, p.w.Store.Update(Ctx, &registry.Action{At: p.w.Now(), By: "QX", Verb: "set up"},
		func(tx stock.Tx) error {
			m, err := stock.MachineByTag(tx, p.head)
			require.NoError(p, err)
			b, err := stock.BaseByTag(tx, p.base)
			require.NoError(p, err)
			require.NoError(p, change(tx, m, b))
			require.NoError(p, tx.Put(m))
			return tx.Put(b)
		}))
	return p
}

func (p *place) readHead() *stock.Machine {
	m, err := p.w.Machine(Ctx, p.head)
	require.NoError(p, err)
	return m
}

func (p *place) readBase() *stock.Base {
	b, err := p.w.Base(Ctx, p.base)
	require.NoError(p, err)
	return b
}

func (p *place) stage(tag registry.Tag) registry.Stage {
	if tag == p.head {
		return p.readHead().Stage
	}
	return p.readBase().Stage
}

// offered is what is offered of a piece to QX for an action.
func (p *place) offered(tag registry.Tag, action string) (found offers.Offer) {
	require.NoError(p, p.w.Store.View(Ctx, func(r stock.Reader) error {
		all, err := p.w.AllowedAt(r, "QX", tag)
		require.NoError(p, err)
		for _, o := range all {
			if o.Action == action {
				found = o
			}
		}
		return nil
	}))
	require.NotEmpty(p, found.Action, action)
	return found
}

// lit takes the mains, by a lamp, and passed its safety test.
func lit(m *stock.Machine) {
	m.Mains = m.Mains.Set("lamp", mains.Fitted)
	m.SafetyAt, m.SafetyBy, m.Class = time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC), "EL", "II"
	m.Plate = electrical.Nameplate{Motor: "brush", Plug: "G", Volts: measure.Rating{{Low: 230, High: 230}}}
}

func withoutPass(_ stock.Tx, m *stock.Machine, _ *stock.Base) error {
	m.CancelSafety()
	return nil
}

func joined(a, b map[string]func(*place, registry.Tag) error) map[string]func(*place, registry.Tag) error {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}

// What an order does with the pieces on it, and what else is done to them, is offered where it is done and
// refused where it is refused, in the same words: of heads and of bases, promised or not, packed or not.
func TestPromisedPiecesAreOfferedWhatIsDone(t *testing.T) {
	states := map[string]func(*testing.T) *place{
		"in stock": func(t *testing.T) *place { return inStock(t, asIs) },
		"in stock, without a pass": func(t *testing.T) *place {
			return inStock(t, func(m *stock.Machine) { lit(m); m.SafetyAt = time.Time{} })
		},
		"reserved": func(t *testing.T) *place { return reserved(t, asIs) },
		"reserved, with work to do": func(t *testing.T) *place {
			return reserved(t, func(m *stock.Machine) { m.Groove = stock.No })
		},
		"reserved, and not tried": func(t *testing.T) *place {
			p := reserved(t, asIs)
			p.w.Config.Order.TryEverySet = true
			return p
		},
		"reserved, and old": func(t *testing.T) *place {
			return reserved(t, func(m *stock.Machine) { year := 1890; m.From, m.To = &year, &year })
		},
		"reserved, and does not fit": func(t *testing.T) *place {
			return reserved(t, asIs).set(func(_ stock.Tx, _ *stock.Machine, b *stock.Base) error {
				b.Pins = 300 * registrytest.Mm
				return nil
			})
		},
		"reserved, with a lamp": func(t *testing.T) *place { return reserved(t, lit) },
		"reserved, without its pass": func(t *testing.T) *place {
			return reserved(t, lit).set(withoutPass)
		},
		"head packed": func(t *testing.T) *place { p := reserved(t, asIs); return p.packed(p.head) },
		"base packed": func(t *testing.T) *place { p := reserved(t, asIs); return p.packed(p.base) },
		"packed":      func(t *testing.T) *place { p := reserved(t, asIs); return p.packed(p.head, p.base) },
		"packed, without its pass": func(t *testing.T) *place {
			p := reserved(t, lit)
			return p.packed(p.head, p.base).set(withoutPass)
		},
		"packed, for another supply": func(t *testing.T) *place {
			p := reserved(t, lit)
			return p.packed(p.head, p.base).set(func(tx stock.Tx, _ *stock.Machine, _ *stock.Base) error {
				o, err := orders.OrderByNumber(tx, p.number)
				require.NoError(t, err)
				o.Supply = ""
				return tx.Put(o)
			})
		},
		"packed, with a set that is not": func(t *testing.T) *place {
			p := reserved(t, asIs)
			h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
			registrytest.InHand(t, p.w, h, b)
			plan, err := p.w.Propose(Ctx, nil)
			require.NoError(t, err)
			require.NoError(t, p.w.Reserve(Ctx, "QX", "", plan.Reservations))
			return p.packed(p.head, p.base)
		},
		"shipped": func(t *testing.T) *place {
			p := reserved(t, asIs)
			_, _, err := p.packed(p.head, p.base).w.ShipOrder(Ctx, "QX", p.number, packing.Delivery{Part: true})
			require.NoError(t, err)
			return p
		},
		"held": func(t *testing.T) *place {
			p := inStock(t, asIs)
			_, err := p.w.Hold(Ctx, "QX", p.head, "cracked")
			require.NoError(t, err)
			_, err = p.w.HoldBase(Ctx, "QX", p.base, "cracked")
			require.NoError(t, err)
			return p
		},
		"handed over": func(t *testing.T) *place {
			return reserved(t, asIs).set(func(_ stock.Tx, m *stock.Machine, b *stock.Base) error {
				m.HandedTo, b.HandedTo = "Eldwray", "Eldwray"
				return nil
			})
		},
	}
	ofOrder := map[string]func(*place, registry.Tag) error{
		registry.DoReserve: func(p *place, tag registry.Tag) error {
			h, b := p.readHead(), p.readBase()
			if tag == p.base { // with a head that can be promised
				h = registrytest.TreadleHead(241 * registrytest.Mm)
				registrytest.InHand(p.T, p.w, h)
			} else {
				b = registrytest.TreadleBase(241 * registrytest.Mm)
				registrytest.InHand(p.T, p.w, b)
			}
			return p.w.Reserve(Ctx, "QX", "", []orders.Reservation{{Order: p.number, Line: 1, Head: *h, Base: b}})
		},
		registry.DoUnreserve: func(p *place, tag registry.Tag) error {
			_, err := p.w.ReleaseSets(Ctx, "QX", p.number, "", []registry.Tag{tag})
			return err
		},
		registry.DoPack: func(p *place, tag registry.Tag) error {
			done, err := p.w.Pack(Ctx, "QX", p.number, []registry.Tag{tag}, "")
			if err == nil && len(done.Packed) == 0 { // it lies in its crate, and that is no fault at a crate
				err = registry.Errorf(registry.Conflict, "%s is at stage packed already", tag)
			}
			return err
		},
		registry.DoUnpack: func(p *place, tag registry.Tag) error {
			_, err := p.w.Unpack(Ctx, "QX", p.number, "", []registry.Tag{tag})
			return err
		},
		registry.DoShip: func(p *place, _ registry.Tag) error {
			_, _, err := p.w.ShipOrder(Ctx, "QX", p.number, packing.Delivery{Part: true})
			return err
		},
	}
	ofHead := map[string]func(*place, registry.Tag) error{
		registry.DoHold: func(p *place, tag registry.Tag) error {
			_, err := p.w.Hold(Ctx, "QX", tag, "cracked")
			return err
		},
		registry.DoBenchStart: func(p *place, tag registry.Tag) error {
			_, err := p.w.BenchStart(Ctx, "QX", tag, bench.WorkNote{})
			return err
		},
		registry.DoBenchNote: func(p *place, tag registry.Tag) error {
			_, err := p.w.BenchNote(Ctx, "QX", tag, bench.WorkNote{Jobs: []string{"oil"}})
			return err
		},
		registry.DoSell: func(p *place, tag registry.Tag) error {
			_, err := p.w.Triage(Ctx, "QX", tag, "sale", "worn", "")
			return err
		},
		registry.DoRelease: func(p *place, tag registry.Tag) error {
			_, err := p.w.Release(Ctx, "QX", tag, "")
			return err
		},
	}
	ofBase := map[string]func(*place, registry.Tag) error{
		registry.DoHold: func(p *place, tag registry.Tag) error {
			_, err := p.w.HoldBase(Ctx, "QX", tag, "cracked")
			return err
		},
		registry.DoSell: func(p *place, tag registry.Tag) error {
			_, err := p.w.TriageBase(Ctx, "QX", tag, "sale", "worn")
			return err
		},
		registry.DoBaseReady: func(p *place, tag registry.Tag) error {
			_, err := p.w.ReadyBase(Ctx, "QX", tag)
			return err
		},
		registry.DoRelease: func(p *place, tag registry.Tag) error {
			_, err := p.w.ReleaseBase(Ctx, "QX", tag, "")
			return err
		},
	}
	for state, made := range states {
		for unit, actions := range map[string]map[string]func(*place, registry.Tag) error{
			registry.UnitMachine: joined(ofOrder, ofHead), registry.UnitBase: joined(ofOrder, ofBase)} {
			for action, do := range actions {
				p := made(t)
				tag := p.head
				if unit == registry.UnitBase {
					tag = p.base
				}
				offer, packed := p.offered(tag, action), p.stage(tag) == registry.Packed
				err := do(p, tag)
				what := state + ": " + action + " of the " + unit
				assert.Equal(t, err == nil, offer.Allowed, "%s: %v; offered: %v", what, err, offer.Refusal)
				_, order := ofOrder[action]
				// An order that is asked for what the table has no line for tells of itself, not of the table.
				if !offer.Allowed && err != nil && (offer.Waits || !order || action == registry.DoUnreserve && packed) {
					assert.Equal(t, err.Error(), offer.Refusal.Error(), what)
					assert.Equal(t, registrytest.NextSteps(t, err), offer.Refusal.Next, what)
				}
			}
		}
	}
}
