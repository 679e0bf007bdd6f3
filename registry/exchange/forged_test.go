package exchange_test

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// told is what a house knows of a subject, as it would carry it.
func told(t *testing.T, w *house.Workshop, tag registry.Tag) *exchange.UnitHistory {
	t.Helper()
	c := &exchange.UnitHistory{Subject: string(tag)}
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		return r.Changes(c.Subject, func(a *registry.Action, change *registry.Change) error {
			if !slices.ContainsFunc(c.Actions, func(b registry.Action) bool { return b.ID == a.ID }) {
				c.Actions = append(c.Actions, *a)
			}
			c.Changes = append(c.Changes, *change)
			return nil
		})
	}))
	return c
}

// sealed writes a bundle as the house with these letters would.
func sealed(t *testing.T, letters string, all ...*exchange.UnitHistory) []byte {
	t.Helper()
	var out bytes.Buffer
	b, err := exchange.NewBundle(&out, exchange.Head{House: "Nether Quoin", Letters: letters, To: "Eldwray"})
	require.NoError(t, err)
	for _, c := range all {
		require.NoError(t, b.Add(c))
	}
	require.NoError(t, b.Close())
	return out.Bytes()
}

// Fifty files by somebody who knows the form and its sum: each is refused whole, or shown as a clash that
// changes nothing, or tells of a machine that is new here and stands where its records prove. Nothing that
// this house holds is another afterwards, and the registry verifies.
func TestForgedBundlesDoNoHarm(t *testing.T) {
	giver, w := registrytest.InLetters(t, "LR"), registrytest.InLetters(t, "EL")
	fresh := registrytest.Logged(t, giver, "Ostermann", "B7").Tag
	electric := &stock.Machine{Maker: "Arden", Serial: "E9", Drive: registry.Electric}
	require.NoError(t, giver.Log(ctx, "QX", electric, true))
	held := registrytest.Logged(t, w, "Tamarisk", "T1").Tag
	lent := registrytest.Logged(t, w, "Tamarisk", "T2").Tag
	_, err := w.HandOver(ctx, "EZ", exchange.HandOverOptions{Tags: []registry.Tag{lent}, To: "Lantern Row"},
		func(*exchange.UnitHistory) error { return nil })
	require.NoError(t, err)

	next := int64(1000)
	// more is a history with one more action behind it, done in the house that forges.
	more := func(tag registry.Tag, verb string, fields map[string][2]any) *exchange.UnitHistory {
		c := told(t, w, tag)
		for i := range c.Actions {
			if c.Actions[i].Origin == "" {
				c.Actions[i].Origin = fmt.Sprintf("EL/%d", c.Actions[i].ID)
			}
		}
		next++
		c.Actions = append(c.Actions,
			registry.Action{ID: next, At: time.Date(2031, 5, 5, 9, 0, 0, 0, time.UTC),
				By: "MB", Verb: verb})
		c.Changes = append(c.Changes, registry.Change{Action: next, Kind: "machine", Ref: c.Changes[0].Ref,
			Subject: c.Subject, Fields: fields})
		return c
	}
	asEL := func(c *exchange.UnitHistory) *exchange.UnitHistory {
		c.Actions[len(c.Actions)-1].Origin = "EL/77"
		return c
	}
	scrap := map[string][2]any{"stage": {"logged", "scrapped"}}
	ready := map[string][2]any{"stage": {"logged", "ready"}}
	forged := map[string][]byte{
		"scraps a machine that is held": sealed(t, "LR", more(held, "triage", scrap)),
		"moves a machine that is held": sealed(t, "LR",
			more(held, "move", map[string][2]any{"place": {"", "x"}})),
		"takes a machine that is held": sealed(t, "LR",
			more(held, "bundle out", map[string][2]any{"handed_to": {"", "x"}})),
		"takes its donor's name": sealed(t, "LR",
			more(held, "amend", map[string][2]any{"donor": {"", "x"}})),
		"tells of work here":                 sealed(t, "LR", asEL(more(held, "triage", scrap))),
		"tells of work here, lent":           sealed(t, "LR", asEL(more(lent, "triage", scrap))),
		"a lent one is ready without a test": sealed(t, "LR", more(lent, "test", ready)),
		"says it is this house":              sealed(t, "EL", more(held, "triage", scrap)),
		"says it is this house, lent":        sealed(t, "EL", more(lent, "triage", scrap)),
		"a lent one gets another tag": sealed(t, "LR",
			more(lent, "amend", map[string][2]any{"tag": {string(lent), "EL9A"}})),
		"a lent one is struck": sealed(t, "LR",
			more(lent, "undo", map[string][2]any{"struck": {0, 1}})),
		"a lent one gets an id": sealed(t, "LR",
			more(lent, "amend", map[string][2]any{"id": {2, 1}})),
		"two of one tag": sealed(t, "LR", told(t, giver, fresh), told(t, giver, fresh)),
		"a held one and a fresh one": sealed(t, "LR", told(t, giver, fresh),
			more(held, "triage", scrap)),
	}
	good := unzip(t, sealed(t, "LR", told(t, giver, fresh), told(t, giver, electric.Tag)))
	whole := len(forged)
	edits := [][2]string{
		{`"logged"`, `"ready"`}, {`"logged"`, `"packed"`}, {`"logged"`, `"shipped"`}, {`"logged"`, `"bench"`},
		{`"logged"`, `"tested"`}, {`"logged"`, `"parts"`}, {`"logged"`, `"held"`}, {`"logged"`, `""`},
		{`"logged"`, `"sold","tested_by":[null,"RS"]`},
		{`"logged"]`, `"ready"],"tested_at":[null,"2031-05-04T09:30:00.000Z"],"tested_by":[null,"RS"],"tested_drive":[null,"hand"]`},
		{`"logged"]`, `"logged"],"safety_at":[null,"2031-05-04T09:30:00.000Z"],"safety_by":[null,"RS"]`},
		{`"logged"]`, `"logged"],"safety_at":[null,"9999-12-31T23:59:59.999Z"]`},
		{`"logged"]`, `"logged"],"year_from":[null,99999]`}, {`"logged"]`, `"logged"],"year_to":[null,-5]`},
		{`"logged"]`, `"logged"],"weight_g":[null,-5]`},
		{`"logged"]`, `"logged"],"weight_g":[null,9223372036854775807]`},
		{`"logged"]`, `"logged"],"bed_length_um":[null,-1]`},
		{`"logged"]`, `"logged"],"bed_length_um":[null,1e300]`},
		{`"logged"]`, `"logged"],"number":[null,1]`}, {`"logged"]`, `"logged"],"struck":[null,1]`},
		{`"logged"]`, `"logged"],"struck":[null,7]`}, {`"logged"]`, `"logged"],"id":[null,1]`},
		{`"logged"]`, `"logged"],"seen":[null,"[1931"]`}, {`"logged"]`, `"logged"],"seen":[null,"[99999]"]`},
		{`"logged"]`, `"logged"],"patents":[null,"{\"a\":1}"]`},
		{`"logged"]`, `"logged"],"patents":[null,"[\"x\u0000\"]"]`},
		{`"logged"]`, `"logged"],"mains":[null,"{\"new\":1}"]`},
		{`"logged"]`, `"logged"],"maker_key":[null,"tamarisk"]`},
		{`"logged"]`, `"logged"],"donor":[null,"` + strings.Repeat("x", 15_000) + `"]`},
		{`"logged"]`, `"logged"],"note":[null,"` + strings.Repeat("\\n", 15_000) + `"]`},
		{`"logged"]`, `"logged"],"donor":[null,"\u202egro"]`},
		{`"logged"]`, `"logged"],"handed_to":[null,"` + strings.Repeat("x", 3_000) + `"]`},
		{`"logged"]`, `"logged"],"tag":[null,"` + string(held) + `"]`},
		{`"logged"]`, `"logged"],"fitted":[null,1]`},
		{`"at":"2031`, `"at":"9999`}, {`"at":"2031`, `"at":"0000`},
		{`"at":"2031-05-04T09:30:00Z"`, `"at":"9999-12-31T23:59:59-14:00"`},
		{`"by":"QX"`, `"by":"EZ<b>"`}, {`"by":"QX"`, `"by":""`}, {`"verb":"log"`, `"verb":"log","undoes":1`},
		{`"verb":"log"`, `"verb":"log","origin":"EL/1"`}, {`"verb":"log"`, `"verb":"log","origin":"EL/9999"`},
		{`"verb":"log"`, `"verb":"log","origin":"LR/9223372036854775807"`}, {`"verb":"log"`, `"verb":""`},
		{`"id":1,`, `"id":-1,`}, {`"id":1,`, `"id":9223372036854775807,`}, {`"ref":1`, `"ref":-1`},
		{`"ref":1`, `"ref":9223372036854775807`},
		{`"kind":"machine"`, `"kind":"base"`}, {`"kind":"machine"`, `"kind":"function_test"`},
		{`"kind":"machine"`, `"kind":"link"`},
		{`"kind":"machine"`, `"kind":"partner_order"`},
		{`{"tag":"` + string(fresh) + `"}`, `{"tag":"ORD14"}`},
		{`{"tag":"` + string(fresh) + `"}`, `{"tag":"` + string(held) + `"}`},
		{`{"tag":"` + string(fresh) + `"}`, `{"tag":""}`},
	}
	for _, edit := range edits {
		text := strings.Join(good, "\n")
		require.Contains(t, text, edit[0], "the edit changes nothing any more")
		forged[edit[0]+" → "+edit[1][:min(len(edit[1]), 60)]] = resealed(t,
			strings.Split(strings.ReplaceAll(text, edit[0], edit[1]), "\n"))
	}
	require.Len(t, forged, whole+len(edits), "two of them have one name")
	require.GreaterOrEqual(t, len(forged), 50)

	before := [][]string{history(t, w, held), history(t, w, lent)}
	for name, file := range forged {
		t.Run(name, func(t *testing.T) {
			b, err := exchange.ReadBundle(bytes.NewReader(file))
			if err == nil {
				// Undone at the end, so that each meets the house as it was.
				copied := copyOf(t, w)
				var arrived []exchange.Arrival
				arrived, err = copied.TakeOver(ctx, "EZ",
					exchange.Receiving{From: b.Head.Letters, Name: "x.bundle"}, b.Next)
				faults, broken := copied.Store.(*sqlite.DB).Verify(ctx, "EL", nil)
				require.NoError(t, broken)
				assert.Empty(t, faults)
				assert.Equal(t, before, [][]string{history(t, copied, held), history(t, copied, lent)})
				for _, one := range arrived {
					if err == nil && one.Does == exchange.ArrivalNew {
						m, err := copied.Machine(ctx, one.Tag)
						require.NoError(t, err)
						assert.NotContains(t,
							[]registry.Stage{registry.Ready, registry.Packed, registry.Shipped}, m.Stage)
						assert.True(t, m.SafetyAt.IsZero())
					}
				}
				if err == nil {
					t.Log("came in: ", arrived)
				}
			}
			if err != nil {
				t.Log(err)
				assert.NotEmpty(t, registry.CodeOf(err), err)
			}
		})
	}
}

// copyOf is the same house in another file.
func copyOf(t *testing.T, w *house.Workshop) *house.Workshop {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, w.Store.(*sqlite.DB).CopyTo(ctx, path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return house.NewWorkshop(db, w.Config, house.Lists{}, nil, w.Now)
}

// What a bundle says of its house is bounded like what is typed; it is printed before anything of it is trusted.
func TestTheHeadOfABundleIsBounded(t *testing.T) {
	whole := chain.Head{House: strings.Repeat("0b", 16), Links: 1 << 40, Sum: strings.Repeat("0a", 32)}
	for _, edit := range []func(h *exchange.Head){
		func(h *exchange.Head) { h.House = strings.Repeat("x", registry.MaxName+1) },
		func(h *exchange.Head) { h.House = "a\x1b[2J" },
		func(h *exchange.Head) { h.House = "a\u202eb" },
		func(h *exchange.Head) { h.Chain.House = "" },
		func(h *exchange.Head) { h.Chain.House = strings.Repeat("z", 32) },
		func(h *exchange.Head) { h.Chain.Links = -1 },
		func(h *exchange.Head) { h.Chain.Sum = "" },
		func(h *exchange.Head) { h.Chain.Sum = strings.Repeat("0a", 4000) },
	} {
		told := whole
		head := exchange.Head{House: strings.Repeat("é", registry.MaxName), Letters: "LR", Chain: &told}
		read := func() error {
			var out bytes.Buffer
			b, err := exchange.NewBundle(&out, head)
			require.NoError(t, err)
			require.NoError(t, b.Close())
			_, err = exchange.ReadBundle(&out)
			return err
		}
		require.NoError(t, read())
		edit(&head)
		assert.Equal(t, registry.Invalid, registry.CodeOf(read()), head)
	}
}

// A span of years that ends before it begins would be printed as it stands, and a machine that was logged in
// days to come would stand in no year's report.
func TestWhatABundleTellsOfTimesIsPossible(t *testing.T) {
	giver, w := registrytest.InLetters(t, "LR"), registrytest.InLetters(t, "EL")
	tag := registrytest.Logged(t, giver, "Ostermann", "B7").Tag
	text := strings.Join(unzip(t, sealed(t, "LR", told(t, giver, tag))), "\n")
	for _, c := range []struct{ was, is, refused string }{
		{`"logged"]`, `"logged"],"year_from":[null,1900],"year_to":[null,1800]`, "no machine was made from 1900 to 1800"},
		{`"logged_at":[null,"2031-`, `"logged_at":[null,"2999-`, "has logged_at 2999-"},
		{`"stage_since":[null,"2031-05-04`, `"stage_since":[null,"2031-05-06`, "has stage_since 2031-05-06"},
	} {
		forged := strings.ReplaceAll(text, c.was, c.is)
		require.NotEqual(t, text, forged)
		b, err := exchange.ReadBundle(bytes.NewReader(resealed(t, strings.Split(forged, "\n"))))
		require.NoError(t, err)
		_, err = w.TakeOver(ctx, "EZ", exchange.Receiving{From: "LR", Name: "x.bundle"}, b.Next)
		assert.ErrorContains(t, err, c.refused)
	}
}
