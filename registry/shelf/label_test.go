package shelf_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// A label is due while there is none, once it is spoiled, and once what it says changes; a slip only once it
// was printed.
func TestWhatHasToBePrinted(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	says := func(m *stock.Machine, b *stock.Base) string {
		if b != nil {
			return b.Pattern
		}
		return m.Serial
	}
	judge := func(_ stock.Reader, p stock.Print, m *stock.Machine, b *stock.Base) ([]string, bool, error) {
		if p.Kind == stock.SlipPrint {
			return []string{"place"}, m.Place != p.Says, nil
		}
		return []string{"serial"}, says(m, b) != p.Says, nil
	}
	due := func() map[registry.Tag]shelf.LabelDue {
		q, err := w.Labels(registrytest.Ctx, judge)
		require.NoError(t, err)
		out := map[registry.Tag]shelf.LabelDue{}
		for _, d := range q.Due {
			if d.Kind == stock.SlipPrint {
				d.Tag += " slip"
			}
			out[d.Tag] = d
		}
		return out
	}
	print := func(kind stock.PrintKind, tag registry.Tag, says string) {
		require.NoError(t,
			w.NotePrints(registrytest.Ctx, "",
				[]stock.Print{{Tag: tag, Kind: kind, Event: stock.Printed, Says: says}},
				func(stock.Tx) error { return nil }))
	}
	one, two := registrytest.Machine("K1"), registrytest.Machine("K2")
	require.NoError(t, w.Log(registrytest.Ctx, "QX", one, false))
	require.NoError(t, w.Log(registrytest.Ctx, "QX", two, false))
	missing := func(tag registry.Tag) shelf.LabelDue {
		return shelf.LabelDue{Tag: tag, Kind: stock.LabelPrint, Why: shelf.Unlabelled, Changed: []string{}}
	}
	assert.Equal(t, map[registry.Tag]shelf.LabelDue{one.Tag: missing(one.Tag), two.Tag: missing(two.Tag)},
		due())

	jam := errors.New("paper jam")
	prints := []stock.Print{{Tag: one.Tag, Kind: stock.LabelPrint, Event: stock.Printed, Says: "K1"}}
	require.ErrorIs(t, w.NotePrints(registrytest.Ctx, "", prints, func(stock.Tx) error { return jam }), jam)
	assert.Len(t, due(), 2, "a print that failed is none")
	require.NoError(t, w.Scanned(registrytest.Ctx, "QX", one.Tag, "PM999X"), "not printed: nothing is noted")
	print(stock.LabelPrint, one.Tag, "old")
	q, err := w.Labels(registrytest.Ctx, judge)
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag}, q.Unseen, "printed once, and nobody scanned it")
	require.NoError(t, w.Scanned(registrytest.Ctx, "", one.Tag, two.Tag))
	q, err = w.Labels(registrytest.Ctx, judge)
	require.NoError(t, err)
	assert.Empty(t, q.Unseen)
	assert.Empty(t, q.Untied)
	print(stock.LabelPrint, registry.NewTag("PM", 99), "of a log undone")
	assert.Equal(t,
		shelf.LabelDue{Tag: one.Tag, Kind: stock.LabelPrint, Why: shelf.Stale, Changed: []string{"serial"}},
		due()[one.Tag])
	print(stock.LabelPrint, one.Tag, "K1")
	assert.Len(t, due(), 1, "the latest print counts")

	assert.ErrorContains(t,
		w.NoteLabels(registrytest.Ctx, "QX", stock.Spoiled, []registry.Tag{one.Tag, two.Tag}), "no label of "+
			string(two.Tag)+" was printed yet")
	assert.Len(t, due(), 1, "nothing was noted")
	require.NoError(t, w.NoteLabels(registrytest.Ctx, "QX", stock.Spoiled, []registry.Tag{one.Tag}))
	assert.Equal(t, shelf.SpoiledWhy, due()[one.Tag].Why)
	print(stock.LabelPrint, one.Tag, "K1")
	assert.NotContains(t, due(), one.Tag)

	require.NoError(t, w.Scanned(registrytest.Ctx, "QX", one.Tag),
		"it may be the old one, of the same symbol")
	q, err = w.Labels(registrytest.Ctx, judge)
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag}, q.Untied, "printed again, and nobody said that it is tied on")
	require.NoError(t, w.NoteLabels(registrytest.Ctx, "QX", stock.Tied, []registry.Tag{one.Tag}))
	q, err = w.Labels(registrytest.Ctx, judge)
	require.NoError(t, err)
	assert.Empty(t, q.Untied)

	print(stock.SlipPrint, one.Tag, one.Place)
	assert.NotContains(t, due(), one.Tag+" slip")
	_, err = w.Amend(registrytest.Ctx, "QX", one.Tag, "",
		func(m *stock.Machine) error { m.Place, m.Serial = "bay 9", "K3"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []string{"place"}, due()[one.Tag+" slip"].Changed)
	assert.Equal(t, shelf.Stale, due()[one.Tag].Why)

	base := &stock.Base{Pattern: "Alder"}
	require.NoError(t, w.AddBase(registrytest.Ctx, "QX", base))
	assert.Equal(t, shelf.Unlabelled, due()[base.Tag].Why)
	print(stock.LabelPrint, base.Tag, "Alder")
	assert.NotContains(t, due(), base.Tag)
	_, err = w.AmendBase(registrytest.Ctx, "QX", base.Tag, "",
		func(b *stock.Base) error { b.Pattern = "Rowan"; return nil })
	require.NoError(t, err)
	assert.Equal(t, shelf.Stale, due()[base.Tag].Why, "a base's label as well")
	_, err = w.Triage(registrytest.Ctx, "QX", one.Tag, "scrap", "cracked bed", "RS")
	require.NoError(t, err)
	_, err = w.TriageBase(registrytest.Ctx, "QX", base.Tag, "scrap", "cracked leg")
	require.NoError(t, err)
	assert.Len(t, due(), 1, "what has gone needs no label")
}

// What is left of a sheet is kept with the print that left it so, by printer and stock, and not where that
// failed.
func TestAStartedSheetIsRemembered(t *testing.T) {
	w := registrytest.Workshop(t)
	left := func(printer, of string) (s shelf.StartedSheet) {
		require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
			s, err = shelf.SheetIn(r, printer, of)
			return err
		}))
		return s
	}
	keep := func(s shelf.StartedSheet, fails error) error {
		return w.NotePrints(registrytest.Ctx, "", nil, func(tx stock.Tx) error {
			return errors.Join(shelf.KeepSheet(tx, "shed", "a4-3x7", s), fails)
		})
	}
	assert.Zero(t, left("shed", "a4-3x7"))
	require.NoError(t, keep(shelf.StartedSheet{Next: 5, Spoiled: []int{7}}, nil))
	require.Error(t, keep(shelf.StartedSheet{Next: 9}, errors.New("no paper")))
	assert.Equal(t, shelf.StartedSheet{Next: 5, Spoiled: []int{7}}, left("shed", "a4-3x7"))
	assert.Zero(t, left("", "a4-3x7"))
	assert.Zero(t, left("shed", "a4-3x8"))
	q, err := w.Labels(registrytest.Ctx, nil)
	require.NoError(t, err)
	assert.Empty(t, q.Due)
	registrytest.VerifiesClean(t, w)
}
