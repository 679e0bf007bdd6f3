package exchange_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/imports"
	"pitman/registry/registrytest"
	"pitman/registry/sheet"
	"pitman/registry/stock"
)

// anyMachine throws a machine whose texts are of the kind that spreadsheets treat in a way of their own.
func anyMachine(dice *rand.Rand, n int) *stock.Machine {
	pick := func(words ...string) string { return words[dice.IntN(len(words))] }
	letters := []rune(`=+-@'",; abß7名`)
	text := func() string {
		var b strings.Builder
		for range dice.IntN(7) {
			b.WriteRune(letters[dice.IntN(len(letters))])
		}
		return strings.TrimSpace(b.String())
	}
	m := &stock.Machine{
		Maker:  pick("Willcox & Gibbs", "=Harrow", "Ostermann", "'Tamarisk'"),
		Serial: fmt.Sprintf("%s%d", pick("", "K", "k-"), n+1),
		Drive:  registry.Drives[dice.IntN(3)], Stitch: registry.Stitches[dice.IntN(len(registry.Stitches))],
		Model: text(), Donor: text(), Condition: text(), Place: text(), Note: text(),
	}
	switch dice.IntN(4) {
	case 0:
		m.Serial = stock.NoSerial
	case 1:
		m.Serial = "7" // again and again: twins
	case 2:
		m.Patents, m.Seen, m.PatentYears = []string{"1400000", "D30000"}, []int{1931, 1950}, []int{1921}
	}
	return m
}

func export(t *testing.T, w *house.Workshop, name string, lines bool) string {
	t.Helper()
	form := ".csv"
	if lines {
		form = ".jsonl"
	}
	return exportAs(t, w, name, form)
}

func exportAs(t *testing.T, w *house.Workshop, name, form string) string {
	t.Helper()
	kind, err := exchange.KindNamed(name)
	require.NoError(t, err)
	var out bytes.Buffer
	to := exchange.NewLines(&out)
	if form != ".jsonl" {
		to, err = exchange.NewSheet(&out, form, kind.Header)
		require.NoError(t, err)
	}
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error { return kind.Each(r, to.Record) }))
	require.NoError(t, to.Flush())
	return out.String()
}

func filled(t *testing.T, dice *rand.Rand, n int) *house.Workshop {
	t.Helper()
	w := registrytest.InLetters(t, "PM")
	for i := range n {
		require.NoError(t, w.Log(ctx, "QX", anyMachine(dice, i), true))
	}
	return w
}

// An export of machines makes the same machines in an empty house, and none in its own.
func TestAnExportComesBackWhole(t *testing.T) {
	for seed := range uint64(4) {
		w := filled(t, rand.New(rand.NewPCG(seed, 7)), 60)
		out := export(t, w, "machines", false)
		from := out
		if seed%2 == 1 { // a workbook brings the same
			from = exportAs(t, w, "machines", ".xlsx")
		}

		other := registrytest.InLetters(t, "EL")
		result, err := registrytest.TakeIn(ctx, other, from)
		require.NoError(t, err, result.Faults)
		assert.Equal(t, 60, result.New)
		require.Equal(t, out, export(t, other, "machines", false), "seed %d", seed)

		for _, house := range []*house.Workshop{w, other} {
			result, err = registrytest.TakeIn(ctx, house, out)
			require.NoError(t, err)
			assert.Equal(t, 60, result.Same)
			assert.Equal(t, out, export(t, house, "machines", false))
		}
	}
}

// Every line of JSON holds the whole machine.
func TestJSONLinesHoldEverything(t *testing.T) {
	w := filled(t, rand.New(rand.NewPCG(1, 2)), 40)
	lines := strings.Split(strings.TrimSpace(export(t, w, "machines", true)), "\n")
	require.Len(t, lines, 40)
	i := 0
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		return r.Machines(stock.MachineFilter{}, func(m *stock.Machine) error {
			var back stock.Machine
			require.NoError(t, json.Unmarshal([]byte(lines[i]), &back))
			again, err := json.Marshal(&back)
			require.NoError(t, err)
			want, err := json.Marshal(m)
			require.NoError(t, err)
			assert.JSONEq(t, string(want), string(again))
			i++
			return nil
		})
	}))
}

// The history in a sheet tells the same as the one in JSON lines.
func TestHistoryIsWholeInASheet(t *testing.T) {
	w := filled(t, rand.New(rand.NewPCG(5, 6)), 30)
	lines := strings.Split(strings.TrimSpace(export(t, w, "history", true)), "\n")
	r, err := sheet.NewReader(strings.NewReader(export(t, w, "history", false)))
	require.NoError(t, err)
	for _, text := range lines {
		var line map[string]any
		require.NoError(t, json.Unmarshal([]byte(text), &line))
		cells, faults, err := r.Read()
		require.NoError(t, err)
		require.Empty(t, faults)
		for i, name := range r.Header() {
			if want := line[name]; want != nil {
				require.Equal(t, fmt.Sprint(want), cells[i], name)
			} else {
				require.Empty(t, cells[i], name)
			}
		}
	}
}

// An interrupted import leaves nothing.
func TestAnInterruptedImportLeavesNothing(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	var text strings.Builder
	text.WriteString("maker,serial,drive\n")
	for i := range 2000 {
		fmt.Fprintf(&text, "Harrow,K%d,hand\n", i+1)
	}
	stopping, stop := contextAfter(500)
	defer stop()
	_, err := registrytest.TakeIn(stopping, w, text.String())
	require.ErrorIs(t, err, stopping.Err())
	require.Error(t, err)
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		n, err := r.Count(stock.MachineFilter{})
		assert.Zero(t, n)
		return err
	}))
}

// However many rows are wrong, each is told; one bad cell hides no other.
func TestEveryFaultIsTold(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	var text strings.Builder
	text.WriteString("maker,serial,drive,patent\n")
	for i := range 3000 {
		fmt.Fprintf(&text, "\x81,K!%d,steam,X%d,behind\n", i+1, i+1)
	}
	result, err := registrytest.TakeIn(ctx, w, text.String())
	require.ErrorIs(t, err, imports.ErrFaults)
	columns := []string{"maker", "5", "serial", "drive", "patent"}
	assert.Equal(t, 3000*len(columns), result.Faulty)
	require.Len(t, result.Faults, 3000*len(columns))
	for i, f := range result.Faults {
		require.Equal(t, 2+i/len(columns), f.Row)
		require.Equal(t, columns[i%len(columns)], f.Column)
	}
}

// Each field that people can type comes back from a sheet as it was, whatever its unit.
func TestEveryFieldComesBack(t *testing.T) {
	samples := map[string][]string{
		"maker": {"Ostermann"}, "serial": {"B7"}, "drive": {"hand"}, "stitch": {"zigzag"},
		"patent":      {"1400000", "RE1234@slide plate"},
		"patent-date": {"1921"}, "seen": {"1931", "1950"}, "year-known": {"1907"}, "bed": {"14 1/2 x 7 in"},
		"pins":  {"9 1/2 in"},
		"wheel": {"5 in"}, "groove": {"yes"}, "weight": {"13.5"}, "class": {"CB"}, "spoked": {"yes"},
		"crank-boss": {"yes"}, "motor-boss": {"no"},
		"bed-pattern": {""}, "wheel-kind": {"spoked"}, "either-way": {"yes"},
	}
	w := registrytest.InLetters(t, "PM")
	base := stock.Base{}
	require.NoError(t, w.AddBase(ctx, "QX", &base))
	samples["arrived-with"] = []string{string(base.Tag)} // which the other house does not have
	var m stock.Machine
	for _, f := range stock.MachineFields {
		values := samples[f.Name]
		if values == nil {
			values = []string{"7"}
		}
		require.NoError(t, f.Set(&m, values), f.Name)
	}
	require.NoError(t, w.Log(ctx, "QX", &m, false))
	out := export(t, w, "machines", false)
	other := registrytest.InLetters(t, "EL")
	result, err := registrytest.TakeIn(ctx, other, out)
	require.NoError(t, err, result.Faults)
	back, err := other.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.Equal(t, &m, back)
}
