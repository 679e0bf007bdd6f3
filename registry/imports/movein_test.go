package imports_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Whatever a list tells, no machine that takes the mains comes to stock by it, and what came in verifies. The
// rule is that of the handbook: a competent person's result is recorded where it is made, and nowhere else.
func TestNoListMakesAnElectricMachineReady(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	text := "id,maker,serial,drive,stage,received,tested,tester\n"
	told := map[string][]string{}
	for _, drive := range registry.Drives {
		for _, stage := range append([]registry.Stage{""}, registry.Stages...) {
			for _, test := range []string{",", "2031-04-02,", ",RS", "2031-04-02,RS", "2031-05-04,RS"} {
				for _, received := range []string{"", "2031-04-02", "2031-04-30"} {
					id := fmt.Sprintf("N%d", len(told))
					row := fmt.Sprintf("%s,Orlop,none,%s,%s,%s,%s", id, drive, stage, received, test)
					told[id] = strings.Split(row, ",")
					text += row + "\n"
				}
			}
		}
	}
	result, err := registrytest.TakeIn(ctx, w, text)
	require.NoError(t, err)
	assert.Equal(t, len(told), result.New)
	ready := 0
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		var m stock.Machine
		err := r.Each(&m, func() error {
			row := told[m.ImportID]
			if m.Stage == registry.Ready {
				ready++
				assert.NotEqual(t, registry.Electric, m.Drive, "%v", row)
				assert.Equal(t, "RS", row[7], "%v", row)
				assert.NotEmpty(t, row[6], "%v", row)
				assert.GreaterOrEqual(t, row[6], row[5], "tested before it came: %v", row)
			}
			assert.True(t, m.SafetyAt.IsZero())
			if m.Drive == registry.Electric {
				assert.True(t, m.TestedAt.IsZero(), "%v", row)
			}
			assert.False(t, m.LoggedAt.After(w.Now()) || m.StageSince.After(w.Now()) ||
				m.TestedAt.After(w.Now()), "%v", row)
			inside := []registry.Stage{registry.Logged, registry.Queued, registry.Bench, registry.Check}
			switch stage := registry.Stage(row[4]); {
			case slices.Contains(inside, stage), stage == registry.Held, stage == registry.Parts,
				stage == registry.Sold, stage == registry.Scrapped, stage == registry.Shipped:
				assert.Equal(t, stage, m.Stage, "%v", row)
			case stage == "":
				assert.Equal(t, registry.Logged, m.Stage, "%v", row)
			case m.Stage != registry.Ready:
				assert.Equal(t, registry.Check, m.Stage, "%v", row)
			}
			return nil
		})
		if err != nil {
			return err
		}
		return r.Standings("", func(s *stock.Standing) error {
			assert.Empty(t, s.Faults(nil))
			return nil
		})
	}))
	// hand and treadle; ready, reserved and packed; of the 15 tests and days the two dated by a tester, but
	// for the one that was received after its first test
	assert.Equal(t, 2*3*5, ready)
	for _, row := range result.Rows {
		stage := told[fmt.Sprintf("N%d", row.Row-2)][4]
		if stage != "" && stage != string(row.Stage) {
			assert.Contains(t, row.Remark, stage+" → "+string(row.Stage)+": ")
		}
	}
}

// The mark of what moved in goes with the stage that it speaks for, so that it excuses nothing later.
func TestTheMarkOfAListEndsWithItsStage(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	result, err := registrytest.TakeIn(ctx, w, "maker,serial,drive,stage\nOrlop,7,electric,sold\n")
	require.NoError(t, err)
	tag := result.Rows[0].Tag
	m, err := w.Machine(ctx, tag)
	require.NoError(t, err)
	assert.Equal(t, "moved in, as told by the old list: sold", m.MovedIn)
	m, err = w.Triage(ctx, "QX", tag, "refurbish", "came back", "")
	require.NoError(t, err)
	assert.Empty(t, m.MovedIn)
}

// A day that cannot be is a fault of its cell.
func TestAListTellsNoDayAhead(t *testing.T) {
	for cells, want := range map[string]string{
		"2031-05-05,,": "column received: received 2031-05-05 is not between 1900-01-01 and today, " +
			"2031-05-04",
		",2032-01-01,RS": "column tested: tested 2032-01-01 is not between 1900-01-01 and today, 2031-05-04",
		"0205-03-04,,":   "column received: received 0205-03-04 is not between",
		"4.5.2031,,":     `column received: received "4.5.2031" is not a day`,
		",,nobody here":  `column tester: tester: initials "nobody here"`,
		",,PITM":         "column tester: tester: initials PITM stand for",
	} {
		w := registrytest.InLetters(t, "PM")
		result, err := registrytest.TakeIn(ctx, w,
			"maker,serial,drive,received,tested,tester\nOrlop,7,hand,"+cells+"\n")
		require.Error(t, err, cells)
		require.Len(t, result.Faults, 1, cells)
		assert.ErrorContains(t, result.Faults[0], want)
	}
}
