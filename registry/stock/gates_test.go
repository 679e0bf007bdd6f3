package stock_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

func TestAPassGrowsOld(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	m, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	passed := m.SafetyAt
	w.Now = func() time.Time { return passed.AddDate(0, 0, 365).Add(-time.Second) }
	assert.True(t, w.SafetyStands(m))
	w.Now = func() time.Time { return passed.AddDate(0, 0, 365) }
	assert.False(t, w.SafetyStands(m))
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, "safety pass of 2031-05-04 that is too old")
	w.Config.Safety.ValidDays = 0
	assert.True(t, w.SafetyStands(m))
}

// A pass is lacked where something takes the mains and none stands, whatever the machine is called.
func TestWhatLacksASafetyPass(t *testing.T) {
	w := registrytest.Workshop(t)
	lamp := mains.Parts{{Part: "lamp", State: mains.Fitted}}
	for name, c := range map[string]struct {
		drive  registry.Drive
		parts  mains.Parts
		passed time.Time
		lacks  bool
	}{
		"electric, never tested":           {registry.Electric, nil, time.Time{}, true},
		"electric, passed today":           {registry.Electric, nil, w.Now(), false},
		"electric, passed long ago":        {registry.Electric, nil, w.Now().AddDate(-40, 0, 0), true},
		"electric, passed in time to come": {registry.Electric, nil, w.Now().AddDate(1, 0, 0), true},
		"hand":                             {registry.Hand, nil, time.Time{}, false},
		"hand with a lamp, never tested":   {registry.Hand, lamp, time.Time{}, true},
		"hand with a lamp, passed today":   {registry.Hand, lamp, w.Now(), false},
	} {
		m := &stock.Machine{Drive: c.drive, Gates: stock.Gates{Mains: c.parts, SafetyAt: c.passed}}
		assert.Equal(t, c.lacks, w.LacksSafetyPass(m), name)
	}
}

// A pass recorded while the clock stood in another year would never grow old. A day is left for the clocks of
// two houses to differ.
func TestAPassAheadOfTheClockDoesNotStand(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	m, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	passed := m.SafetyAt
	for _, c := range []struct {
		now    time.Time
		stands bool
	}{
		{passed.AddDate(0, 0, -1), true},
		{passed.AddDate(0, 0, -1).Add(-time.Second), false},
		{passed.AddDate(-60, 0, 0), false},
	} {
		w.Now = func() time.Time { return c.now }
		assert.Equal(t, c.stands, w.SafetyStands(m), c.now)
		assert.Equal(t, !c.stands, slices.Contains(w.Warnings(m), registry.DoNotPlugIn), c.now)
	}
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	assert.ErrorContains(t, err, "safety pass of 2031-05-04 that lies ahead of this computer's clock")
}

// A pass can grow too old while a machine is held; it does not come back to stock with it.
func TestNoReleaseToReadyOnAnOldPass(t *testing.T) {
	w := registrytest.Workshop(t)
	ready := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
		m.Stage, m.HeldFrom, m.HeldWhy, m.SafetyAt = registry.Held, registry.Ready, "a reason", w.Now()
	})
	waits := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {
		m.Stage, m.HeldFrom, m.HeldWhy, m.SafetyAt = registry.Held, registry.Check, "a reason", w.Now()
	})
	late := w.Now().AddDate(0, 0, 366)
	w.Now = func() time.Time { return late }
	m, err := w.Release(registrytest.Ctx, "QX", ready, "")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage, "only as far as its standing tests allow")
	m, err = w.Release(registrytest.Ctx, "QX", waits, "")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage, "its tests are still to come")
}

func TestHeritageIsLookedAtTwice(t *testing.T) {
	w := registrytest.Workshop(t) // in 2031, with a limit of 100 years
	year := func(y int) *int { return &y }
	for _, c := range []struct {
		name         string
		to           *int
		way          string
		by, seenBy   registry.Initials
		says         string
		seenRecorded bool
	}{
		{"old and stripped", year(1931), "parts", "QX", "", "is at least 100 years old", false},
		{"old and scrapped", year(1858), "scrap", "QX", "", "is at least 173 years old", false},
		{"seen by another", year(1858), "scrap", "QX", "RS", "", true},
		{"seen by the same", year(1858), "scrap", "QX", "QX", "same person as who acts", false},
		{"not a way that the house names", year(1858), "sale", "QX", "", "", false},
		{"probably old enough", year(1940), "scrap", "QX", "", "is probably about 136 years old", false},
		{"a year short", year(1932), "scrap", "QX", "", "", false},
		{"may be younger", nil, "scrap", "QX", "", "", false},
		{"seen though nobody asked", nil, "refurbish", "QX", "QX", "", true},
	} {
		tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) {
			if m.From, m.To = year(1850), c.to; c.name == "a year short" {
				m.From = c.to
			}
		})
		m, err := w.Triage(registrytest.Ctx, c.by, tag, c.way, "a reason", c.seenBy)
		if c.says != "" {
			assert.ErrorContains(t, err, c.says, c.name)
			continue
		}
		require.NoError(t, err, c.name)
		assert.Equal(t, c.seenRecorded, m.HeritageSeenBy != "", c.name)
	}
}

// A person's hold and a failed safety test are two reasons; each ends by itself.
func TestTwoReasonsToHold(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, err := w.Hold(registrytest.Ctx, "QX", tag, "waiting for a part")
	require.NoError(t, err)
	m, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.HeldFrom)
	assert.Equal(t, []string{registry.FailedSafety}, w.Warnings(m), "it was tested")
	_, err = w.Release(registrytest.Ctx, "QX", tag, "")
	assert.ErrorContains(t, err, "failed safety test")
	m, _, err = w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	assert.Equal(t, registry.Held, m.Stage, "the part is still missing")
	assert.Equal(t, "waiting for a part", m.HeldWhy)
	m, err = w.Release(registrytest.Ctx, "QX", tag, "")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
	assert.True(t, w.SafetyStands(m))
}

// Who asks before a triage where it leads is told the stage that it does lead to.
func TestOutcomeIsWhereTriageLeads(t *testing.T) {
	w := registrytest.Workshop(t)
	for _, way := range []string{"refurbish", "parts", "sale", "scrap"} {
		tag := registrytest.Put(t, w, registry.Hand, func(*stock.Machine) {})
		m, err := w.Triage(registrytest.Ctx, "QX", tag, way, "a reason", "")
		require.NoError(t, err, way)
		assert.Equal(t, m.Stage, stock.Outcome(way), way)
	}
}
