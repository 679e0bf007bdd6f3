package packing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/partners"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A crate has its label once all of it was scanned into it, with the weights and the number that its packing
// list has, before it leaves and after.
func TestCrateLabelsSayWhatThePackingListSays(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, h, b)
	_, err := w.LabelCrates(registrytest.Ctx, "ORD9", "")
	assert.Equal(t, registry.NotFound, registry.CodeOf(err))
	number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
	_, err = w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{h.Tag}, "")
	require.NoError(t, err)
	crates, err := w.LabelCrates(registrytest.Ctx, number, "")
	require.NoError(t, err)
	require.Len(t, crates, 1)
	assert.ErrorContains(t, crates[0].NotWhole(), "crate 1 of 1 of "+number+
		" is not whole: not scanned into it "+
		"yet: "+string(b.Tag))
	_, err = w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{b.Tag}, "")
	require.NoError(t, err)
	crates, err = w.LabelCrates(registrytest.Ctx, number, "")
	require.NoError(t, err)
	require.NoError(t, crates[0].NotWhole())
	list, err := w.ListPacking(registrytest.Ctx, number, "")
	require.NoError(t, err)
	assert.Equal(t, list.Items, crates[0].Items)
	assert.Equal(t, list.Items[0].Gross, crates[0].Gross)
	assert.True(t, crates[0].Heavy)
	_, _, err = w.ShipOrder(registrytest.Ctx, "QX", number, packing.Delivery{})
	require.NoError(t, err)
	left, err := w.LabelCrates(registrytest.Ctx, number, "")
	require.NoError(t, err)
	require.Len(t, left, 1)
	assert.NoError(t, left[0].NotWhole())
	assert.Equal(t, crates[0].Net, left[0].Net)
}

// What is read at the partner's is in its language as far as the house wrote it: a drive that is not written
// in it keeps the house's words, and no caution is lost.
func TestCareIsInThePartnersLanguage(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	h, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, h, b)
	number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
	var o *orders.Order
	require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
		o, err = orders.OrderByNumber(r, number)
		return err
	}))
	require.NoError(t,
		w.AddPartner(registrytest.Ctx, "QX", &partners.Partner{Name: o.Partner, Language: "Elvan"}))
	w.Packing.Lists.Care = func() ([]packing.CareRow, error) {
		return []packing.CareRow{{For: "any", What: "oil", Text: "One drop."},
			{For: "treadle", What: "belt", Text: "Not tight."},
			{For: "any", What: "olo", Text: "Un dro.", Language: "elvan"},
			{For: "caution", What: "needle", Text: "Ata nal.", Language: "elvan"}}, nil
	}
	cards, err := w.CareCards(registrytest.Ctx, number)
	require.NoError(t, err)
	require.Len(t, cards, 1)
	assert.True(t, cards[0].Written())
	var said []string
	for _, row := range cards[0].Care {
		said = append(said, row.Text)
	}
	assert.Equal(t, []string{"Un dro.", "Not tight."}, said)
	assert.Equal(t, []string{"Ata nal.", registry.Cautions[registry.CautionMoving],
		registry.Cautions[registry.CautionRags], registry.Cautions[registry.CautionLifting]},
		cards[0].Cautions)
	sheet, err := w.Care(registrytest.Ctx, number, "")
	require.NoError(t, err)
	assert.Equal(t, cards[0].Care, sheet.Care)
	assert.Equal(t, cards[0].Cautions, sheet.Cautions)
	assert.Error(t, packing.CareRow{For: "caution", What: "needles", Text: "x", Language: "elvan"}.Check())
	assert.Error(t, packing.CareRow{For: "caution", What: "needle", Text: "x"}.Check())
	for text, fits := range map[string]bool{"-": false, "\u200b": false, "...": false, "!? 12": false,
		"小心": true, "نزع القابس": true} {
		err := packing.CareRow{For: "caution", What: "needle", Text: text, Language: "elvan"}.Check()
		assert.Equal(t, fits, err == nil, text)
	}
}
