package forget_test

import (
	"context"
	"encoding/json"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/forget"
	"pitman/registry/house"
	"pitman/registry/packing"
	"pitman/registry/partners"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

var ctx = context.Background()

// donated logs a machine of this donor, with a note.
func donated(t *testing.T, w *house.Workshop, serial, donor, note string) registry.Tag {
	m := registrytest.Machine(serial)
	m.Donor, m.Note = donor, note
	require.NoError(t, w.Log(ctx, "QX", m, false))
	return m.Tag
}

func read(t *testing.T, w *house.Workshop, tag registry.Tag) (m *stock.Machine) {
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) (err error) {
		m, err = stock.MachineByTag(r, tag)
		return err
	}))
	return m
}

// The name is gone from the records, from their history and from the file itself; all else is there, and the
// chain vouches for it.
func TestForgetPutsANameOutForGood(t *testing.T) {
	w, path := registrytest.WorkshopAt(t)
	db := w.Store.(*sqlite.DB)
	first := donated(t, w, "K1", "Ada Merrow", "from Ada  MERROW, drawer key inside")
	second := donated(t, w, "K2", "Bo Lark", "Merrowby stand; Ada Merrows sister")
	_, err := w.Amend(ctx, "MB", second, "ada merrow said so", func(m *stock.Machine) error {
		m.Donor, m.Condition = "Ada Merrow, Mill Lane", "as Ada Merrow left it"
		return nil
	})
	require.NoError(t, err)
	_, err = w.Amend(ctx, "MB", second, "", func(m *stock.Machine) error { m.Donor = "Bo Lark"; return nil })
	require.NoError(t, err)
	require.NoError(t, w.Store.Update(ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "partner add"},
		func(tx stock.Tx) error {
			return tx.Put(&partners.Partner{ID: "PARTNER1", Name: "Far House", Contact: "Ada Merrow"})
		}))
	before, err := db.Head(ctx)
	require.NoError(t, err)

	look, err := w.Forget(ctx, "", forget.Who{Donor: "Ada Merrow"}, true)
	require.NoError(t, err)
	same, err := db.Head(ctx)
	require.NoError(t, err)
	require.Equal(t, before, same, "a look changes nothing")
	require.Equal(t, "Ada Merrow", read(t, w, first).Donor)

	f, err := w.Forget(ctx, "QX", forget.Who{Donor: "ada merrow"}, false)
	require.NoError(t, err)
	look.Preview = false
	assert.Equal(t, look, f, "what was shown is what was done")
	assert.Equal(t, 4, f.Records, "donor and note, condition, contact")
	assert.Equal(t, 7, f.Lines, "donor, note; donor, condition, why; donor as it was; contact")
	assert.Equal(t, []string{string(first), string(second), "PARTNER1"}, f.Subjects)

	assert.Empty(t, read(t, w, first).Donor)
	assert.Equal(t, "from …, drawer key inside", read(t, w, first).Note)
	m := read(t, w, second)
	assert.Equal(t, "Bo Lark", m.Donor)
	assert.Equal(t, "Merrowby stand; Ada Merrows sister", m.Note, "other names")
	assert.Equal(t, "as … left it", m.Condition)
	registrytest.VerifiesClean(t, w)
	through, err := db.Descends(ctx, before)
	require.NoError(t, err)
	assert.True(t, through, "the chain has come through the head of before")

	require.NoError(t, db.Scrub(ctx))
	for _, end := range []string{"", "-wal"} {
		bytes, err := os.ReadFile(path + end)
		require.NoError(t, err)
		assert.NotContains(t, strings.ToLower(strings.ReplaceAll(string(bytes), "Merrows sister", "")),
			"merrow\"")
		assert.NotContains(t, string(bytes), "Ada Merrow,")
		assert.NotContains(t, string(bytes), "Ada  MERROW")
		assert.NotContains(t, string(bytes), "ada merrow said")
	}
	found := 0
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) (err error) {
		found, err = r.Count(stock.MachineFilter{Text: "drawer key"})
		return err
	}))
	assert.Equal(t, 1, found, "the index of texts is whole")

	_, err = w.Forget(ctx, "QX", forget.Who{Donor: "Ada Merrow"}, false)
	require.Equal(t, registry.NotFound, registry.CodeOf(err), "nobody bears the name any more")
}

// Nobody sees whether an accent is a mark of its own, nor which space it is; and an issued paper keeps its
// texts as JSON, where a line ends in a letter and an ampersand is none.
func TestANameIsFoundHoweverItIsStored(t *testing.T) {
	w, _ := registrytest.WorkshopAt(t)
	order := registrytest.OpenOrder(t, w, "2031-06-01", 1)
	tag := donated(t, w, "K1", "Ad\u00e9 & Bo M\u00e9rrow",
		"of Ade\u0301 &\u00a0Bo Me\u0301rrow, a key; Ad\u00e9 & Bo M\u00e9rrowe\u0301")
	says := func(text string) string {
		data, err := json.Marshal(map[string]any{"address": text, "kept": "a \"b\" & c"})
		require.NoError(t, err)
		return string(data)
	}
	require.NoError(t, w.Store.Update(ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "ship"},
		func(tx stock.Tx) error {
			return tx.Put(&packing.Paper{ID: "PAPER1", Order: order, What: packing.PaperList, At: w.Now(),
				By:   "QX",
				Says: says("Far House\nAd\u00e9 & Bo M\u00e9rrow\n\"Reed\" Row")})
		}))
	f, err := w.Forget(ctx, "QX", forget.Who{Donor: "Ade\u0301 &  bo me\u0301rrow"}, false)
	require.NoError(t, err)
	assert.Equal(t, 3, f.Records)
	assert.Equal(t, 3, f.Lines)
	assert.Equal(t, "of …, a key; Ad\u00e9 & Bo M\u00e9rrowe\u0301", read(t, w, tag).Note,
		"the last is another name")
	p := packing.Paper{}
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		return r.Get(&p, stock.Fields{"ident": "PAPER1"})
	}))
	assert.Equal(t, says("Far House\n…\n\"Reed\" Row"), p.Says)
	registrytest.VerifiesClean(t, w)
}

// What another program reads cannot be cleared, and that is said.
func TestScrubTellsThatTheFileIsRead(t *testing.T) {
	w, path := registrytest.WorkshopAt(t)
	donated(t, w, "K1", "Ada Merrow", "")
	read, err := registrytest.Raw(t, path).Begin()
	require.NoError(t, err)
	var n int
	require.NoError(t, read.QueryRow("SELECT count(*) FROM machine").Scan(&n))
	_, err = w.Forget(ctx, "QX", forget.Who{Donor: "Ada Merrow"}, false)
	require.NoError(t, err)
	soon, cancel := context.WithTimeout(ctx, 100*time.Millisecond)
	defer cancel()
	require.ErrorContains(t, w.Store.(*sqlite.DB).Scrub(soon), "another program is reading")
	require.NoError(t, read.Rollback())
	require.NoError(t, w.Store.(*sqlite.DB).Scrub(ctx))
}

// Undoing passes over it, and brings no name back.
func TestForgettingIsNotUndone(t *testing.T) {
	w, _ := registrytest.WorkshopAt(t)
	tag := donated(t, w, "K1", "", "")
	_, err := w.Amend(ctx, "QX", tag, "", func(m *stock.Machine) error {
		m.Donor, m.Note = "Ada Merrow", "Ada Merrow, drawer key"
		return nil
	})
	require.NoError(t, err)
	_, err = w.Amend(ctx, "QX", tag, "", func(m *stock.Machine) error { m.Donor = "Bo Lark"; return nil })
	require.NoError(t, err)
	_, err = w.Forget(ctx, "QX", forget.Who{Name: "Ada Merrow"}, false)
	require.NoError(t, err)
	for _, undo := range []func() error{
		func() error { _, err := w.UndoOn(ctx, "MB", tag); return err },
		func() error { _, err := w.Undo(ctx, "QX"); return err },
	} {
		require.NoError(t, undo())
		m := read(t, w, tag)
		assert.NotContains(t, m.Donor+m.Note, "Merrow")
		registrytest.VerifiesClean(t, w)
	}
}

// Whoever writes the file cannot put texts out under its name, nor bring one back.
func TestBlankingByHandIsNoticed(t *testing.T) {
	for name, hurt := range map[string]string{
		"a text emptied": `UPDATE change SET fields = replace(fields, 'Bo Lark', ''); UPDATE machine SET donor = ''`,
		"another digest": `UPDATE change SET marks = replace(marks, 'a', 'b')`,
		"a text put in": `UPDATE change SET fields = replace(fields, '"donor":[null,""]', '"donor":[null,"Bo"]');
			UPDATE machine SET donor = 'Bo' WHERE id = 1`,
		"what was forgotten": `DROP TRIGGER forgotten_stays; UPDATE forgotten SET what = 'change 2 donor 1' WHERE id = 1`,
		"nothing forgotten":  `DROP TRIGGER forgotten_kept; DELETE FROM forgotten`,
		"a digest of no one": `UPDATE action SET mark = '` + strings.Repeat("ab", 32) + `' WHERE id = 1`,
	} {
		w, path := registrytest.WorkshopAt(t)
		donated(t, w, "K1", "Ada Merrow", "")
		donated(t, w, "K2", "Bo Lark", "")
		_, err := w.Forget(ctx, "QX", forget.Who{Donor: "Ada Merrow"}, false)
		require.NoError(t, err)
		registrytest.VerifiesClean(t, w)
		raw := registrytest.Raw(t, path)
		_, err = raw.Exec("DROP TRIGGER change_stays; DROP TRIGGER action_stays; " + hurt)
		require.NoError(t, err)
		faults, err := w.Store.(*sqlite.DB).Verify(ctx, "PM", nil)
		require.NoError(t, err)
		found := false
		for _, f := range faults {
			found = found || f.Check == "chain"
		}
		assert.True(t, found, name)
	}
}

// Nor can that be done to what house.toml said.
func TestBlankingSettingsByHandIsNoticed(t *testing.T) {
	digest := strings.Repeat("ab", 32)
	for name, hurt := range map[string]string{
		"a text put in":         `UPDATE decisions SET text = 'of Bo Lark' WHERE id = 1`,
		"a text emptied":        `UPDATE decisions SET text = '' WHERE id = 2`,
		"another digest":        `UPDATE decisions SET mark = '` + digest + `' WHERE id = 1`,
		"another salt":          `UPDATE decisions SET mark = '` + digest[:32] + `' WHERE id = 2`,
		"what nobody forgot":    `UPDATE decisions SET text = '', mark = substr((SELECT note FROM link WHERE note LIKE 'house.toml%' ORDER BY id LIMIT 1 OFFSET 1), 12) WHERE id = 2`,
		"one that is not there": `DROP TRIGGER decisions_kept; DELETE FROM decisions WHERE id = 1`,
		"not told":              `DROP TRIGGER forgotten_kept; DELETE FROM forgotten`,
	} {
		w, path := registrytest.WorkshopAt(t)
		db := w.Store.(*sqlite.DB)
		require.NoError(t, db.Remember(ctx, w.Now(), "# tested by Ada Merrow\n"))
		require.NoError(t, db.Remember(ctx, w.Now(), "# tested by Cy Dune\n"))
		f, err := w.Forget(ctx, "QX", forget.Who{Name: "Ada Merrow"}, false)
		require.NoError(t, err)
		require.Equal(t, 1, f.Lines)
		registrytest.VerifiesClean(t, w)
		_, err = registrytest.Raw(t, path).Exec("DROP TRIGGER decisions_stay; " + hurt)
		require.NoError(t, err)
		faults, err := db.Verify(ctx, "PM", nil)
		require.NoError(t, err)
		found := false
		for _, f := range faults {
			found = found || f.Check == "chain"
		}
		assert.True(t, found, name)
	}
}

// A digest put in place of text and salt keeps the sum, and nothing tells of it: so that shows, too.
func TestAForgettingThatNobodyRecordedIsNoticed(t *testing.T) {
	w, path := registrytest.WorkshopAt(t)
	donated(t, w, "K1", "Ada Merrow", "")
	raw := registrytest.Raw(t, path)
	var fields, marks string
	require.NoError(t, raw.QueryRow("SELECT fields, marks FROM change").Scan(&fields, &marks))
	fields, marks = chain.Forget(fields, marks, chain.Side{Column: "donor", At: 1})
	_, err := raw.Exec("DROP TRIGGER change_stays; UPDATE machine SET donor = ''")
	require.NoError(t, err)
	_, err = raw.Exec("UPDATE change SET fields = ?, marks = ?", fields, marks)
	require.NoError(t, err)
	faults, err := w.Store.(*sqlite.DB).Verify(ctx, "PM", nil)
	require.NoError(t, err)
	said := ""
	for _, f := range faults {
		said += f.What
	}
	assert.Contains(t, said, "1 text was put out of it, and it tells of 0")
}

func TestForgetRefuses(t *testing.T) {
	w, _ := registrytest.WorkshopAt(t)
	placed := donated(t, w, "K1", "Ada Merrow", "")
	_, err := w.Amend(ctx, "QX", placed, "",
		func(m *stock.Machine) error { m.Place = "Mill Lane"; return nil })
	require.NoError(t, err)
	for _, c := range []struct {
		who  forget.Who
		says string
	}{
		{forget.Who{Donor: "Ada Merow"}, `is it "Ada Merrow"?`},
		{forget.Who{Contact: "Ada Merrow"}, "in no record"},
		{forget.Who{Name: "Ines Vale"}, "stands in no text"},
		{forget.Who{Name: "Mill Lane"},
			"stands only where no name belongs, and nothing was put out (PM16: place)"},
		{forget.Who{Donor: " "}, "too short"},
		{forget.Who{Name: "Al"}, "too short"},
		{forget.Who{Donor: "Ada Merrow", Name: "Ada"}, "one name"},
	} {
		_, err := w.Forget(ctx, "QX", c.who, false)
		require.ErrorContains(t, err, c.says)
	}
	w.Config.House.Coordinators = []string{"MB"}
	_, err = w.Forget(ctx, "QX", forget.Who{Donor: "Ada Merrow"}, false)
	require.ErrorContains(t, err, "no coordinator")
	_, err = w.Forget(ctx, "MB", forget.Who{Donor: "Ada Merrow"}, false)
	require.NoError(t, err)
}
