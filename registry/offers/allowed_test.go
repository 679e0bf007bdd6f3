package offers_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/offers"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// offerOf is what is offered to EL, the competent person, for an action as the matrix of every action at
// every stage names it.
func offerOf(t *testing.T, w *house.Workshop, m *stock.Machine, action string) offers.Offer {
	t.Helper()
	named := map[string]string{"test pass": "a passed function test", "test fail": "a failed function test",
		"safety pass": "a passed safety test", "safety fail": "a failed safety test"}[action]
	if named == "" {
		named = action
		if way, triage := strings.CutPrefix(action, "triage "); triage {
			named = "triage to " + way
		}
	}
	found, err := w.AllowedMoves(Ctx, "EL", m)
	require.NoError(t, err)
	for _, o := range found {
		if o.Action == named {
			return o
		}
	}
	require.Fail(t, "no offer", action)
	return offers.Offer{}
}

// Each refusal that the handbook gives a reason for, as an offer: what only waits for something, and what is
// not for such a unit.
func TestOffersGiveTheReason(t *testing.T) {
	w := registrytest.Workshop(t)
	old := 1890
	for name, c := range map[string]struct {
		drive  registry.Drive
		action string
		set    func(*stock.Machine)
		waits  bool
		says   string
	}{
		"a test without a safety pass": {registry.Electric, "test pass",
			func(m *stock.Machine) { m.Stage = registry.Check }, true, "has no safety pass"},
		"a safety test by hand": {registry.Hand, "safety pass", func(*stock.Machine) {}, false,
			"has hand drive"},
		"release after a failed safety test": {registry.Electric, "release", func(m *stock.Machine) {
			m.Stage, m.HeldFrom, m.UnsafeWhy = registry.Held, registry.Check, "earth"
		}, false, "held by a failed safety test"},
		"selling without a pass": {registry.Electric, "triage sale",
			func(m *stock.Machine) { m.Stage = registry.Queued }, true, "so its sale has to wait"},
		"mending what did not fail": {registry.Electric, "bench start after a failed safety test",
			func(m *stock.Machine) {
				m.Stage, m.HeldFrom, m.HeldWhy = registry.Held, registry.Check, "a lamp"
			}, false, "bench start is for"},
		"scrapping an old one": {registry.Hand, "triage scrap", func(m *stock.Machine) { m.To = &old }, true,
			"looks twice"},
		"what another house has": {registry.Hand, "hold", func(m *stock.Machine) { m.HandedTo = "Eldwray" },
			false, "is worked on there"},
		"a reservation, no pass": {registry.Electric, "reserve",
			func(m *stock.Machine) { m.Stage = registry.Ready }, true, "without a safety pass"},
		"packing what no order has": {registry.Hand, "pack",
			func(m *stock.Machine) { m.Stage = registry.Reserved }, true, "is on no order"},
	} {
		tag := registrytest.Put(t, w, c.drive, c.set)
		m, err := w.Machine(Ctx, tag)
		require.NoError(t, err)
		o := offerOf(t, w, m, c.action)
		assert.False(t, o.Allowed, name)
		assert.Equal(t, c.waits, o.Waits, name)
		if assert.NotNil(t, o.Refusal, name) {
			assert.Contains(t, o.Refusal.Error(), c.says, name)
			assert.True(t, strings.HasPrefix(o.Refusal.Error(), string(tag)), name)
		}
	}
}

// A base is ready once its needed parts are there, and until then waits for those that are named.
func TestOffersOfABase(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Lists.Stock.BaseParts = func() ([]stock.BasePart, error) {
		return []stock.BasePart{{Part: "legs", Needed: true}}, nil
	}
	ready := func(b stock.Base) offers.Offer {
		found, err := w.AllowedBaseMoves(Ctx, &b)
		require.NoError(t, err)
		for _, o := range found {
			if o.Action == "make ready" {
				return o
			}
		}
		return offers.Offer{}
	}
	assert.True(t,
		ready(stock.Base{Tag: "PM16", Stage: registry.Logged, Parts: registry.List[string]{"legs"}}).Allowed)
	o := ready(stock.Base{Tag: "PM16", Stage: registry.Logged})
	assert.True(t, o.Waits && !o.Allowed)
	assert.ErrorContains(t, o.Refusal, "lacks legs")
	o = ready(stock.Base{Tag: "PM16", Stage: registry.Sold, Parts: registry.List[string]{"legs"}})
	assert.False(t, o.Waits || o.Allowed)
}
