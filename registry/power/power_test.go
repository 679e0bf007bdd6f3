package power_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/power"
)

// The worked off-grid design of "Electrical Engineering Notes": 18 W for 4 h, 60 W for 2 h and 75 W for 12 h
// are 1092 Wh a day; its inverter is 198.9 W and its panels give 1419.6 Wh. Its battery, 178.4 Ah at 12 V
// with 0.85 and a depth of 0.6, is computed with the formula of older guides (from memory).
func TestPublishedDesign(t *testing.T) {
	used := 18.0*4 + 60*2 + 75*12
	assert.InDelta(t, 1092, used, 1e-9)
	assert.InDelta(t, 198.9, power.InverterFor(18+60+75), 1e-9)
	assert.InDelta(t, 1419.6, power.PanelWork(used), 1e-9)
	assert.InDelta(t, 178.4, power.BatteryFor(used, 12, 0.6), 0.05)
}

func TestBudget(t *testing.T) {
	n := func(v int) *int { return &v }
	h := func(v float64) *float64 { return &v }
	eight := []int{90, 90, 90, 90, 90, 90, 90, 90}
	// 600 W / 1.3 = 461 W carry five of 90 W; while four run, the fifth starts: 4 × 90 + 4 × 90 < 1200. A
	// lead battery of 2400 Wh gives 1020 Wh, the panels 800 × 4 / 1.3 = 2462 Wh: 1020 / 450 = 2.3 h.
	b := power.Of(power.Site{MainsHours: h(0), Panel: n(800), Inverter: n(600), Battery: n(2400)}, eight)
	assert.Equal(t, "5 of these 8 may run at once, 2.3 h a day", b.Says)
	assert.Empty(t, b.Missing)
	assert.Contains(t, strings.Join(b.Assumptions, "\n"), "4 hours of full sun")
	b = power.Of(power.Site{Panel: n(800), Inverter: n(600), Battery: n(2400), Lithium: true,
		SunHours: h(2.5)}, eight)
	assert.Equal(t, "5 of these 8 may run at once, 3.4 h a day", b.Says, "the panels bound it: 1538 Wh")
	// The surge bounds it where machines start hard: 300 W gives 600 W for a moment, 230 W for hours.
	b = power.Of(power.Site{Inverter: n(300)}, []int{100, 100, 100})
	assert.Equal(t, "2 of these 3 may run at once, for how long is not known", b.Says)
	assert.Equal(t, []string{"watts of the panels there", "watt-hours of the battery there"}, b.Missing)
	b = power.Of(power.Site{Inverter: n(150)}, []int{100, 100})
	assert.Contains(t, b.Says, "none of these 2 may run")
	b = power.Of(power.Site{MainsHours: h(6)}, []int{90, 0})
	assert.Equal(t, "1 of the 1 whose watts are known may run at once, 6.0 h a day while there is mains", b.Says)
	assert.Equal(t, 1, b.NoPlate)
	assert.Nil(t, power.Of(power.Site{}, eight).AtOnce, "nothing is guessed")
	assert.Nil(t, power.Of(power.Site{Inverter: n(600)}, []int{0}).AtOnce)
}

// Beside the mains, inverter, panels and battery carry a plan of their own; the day has 24 hours. Worked by
// hand: 800 W of panels in 4 h of sun give 800 × 4 / 1.3 = 2461.5 Wh, the battery 2400 × 0.85 × 0.5 = 1020
// Wh; an inverter of 600 W starts 90 W motors (4 × 90 W) beside (1200 - 360) / 90 = 9 running ones and
// carries 600 / 1.3 / 90 = 5 of them: 1020 / 450 = 2.27 h.
func TestBesideTheMains(t *testing.T) {
	n := func(v int) *int { return &v }
	hours := 4.5
	site := power.Site{MainsHours: &hours, Panel: n(800), Inverter: n(600), Battery: n(2400)}
	b := power.Of(site, []int{90, 90, 90, 90, 90, 90, 90, 90})
	assert.Equal(t, 8, *b.AtOnce)
	assert.InDelta(t, 4.5, *b.Hours, 1e-9)
	assert.Equal(t, 5, *b.OffMains)
	assert.InDelta(t, 1020.0/450, *b.OffHours, 1e-9)
	assert.Contains(t, b.Says, "while there is mains; without it, 5 of these 8 for 2.3 h a day more at most")
	hours = 23
	assert.InDelta(t, 1, *power.Of(site, []int{90, 90, 90, 90, 90}).OffHours, 1e-9, "no day has more hours")
	site.Inverter = nil
	assert.Nil(t, power.Of(site, []int{90}).OffMains)
}
