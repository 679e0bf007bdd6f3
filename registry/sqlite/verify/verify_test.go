package verify_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

const (
	anOrder = "INSERT INTO partner_order VALUES (1, 0, 'ORD1', '', '', 0, '', '', 'open', '', '', '', '', " +
		"'', '', '', '', ''); "
	aSet = "INSERT INTO order_set VALUES (NULL, 0, 'ORD1', 1, 'PM16', '', 0, '[]', 1, '', '', '', '', " +
		"'', '', '', '', '', ''); "
	aShipment = "INSERT INTO shipment VALUES (1, 0, 'SHIPMENT7', '20', '', 0, 'EUR', '', 'open', " +
		"'[{\"order\":\"ORD1\"}]', '', '', '', '', '', '', ''); "
)

// reindex leaves the index of texts with what stands behind it.
const reindex = "DROP TABLE machine_text; CREATE VIRTUAL TABLE machine_text USING fts4 (grams, content='', " +
	"matchinfo=fts3); INSERT INTO machine_text (docid, grams) VALUES "

// Each break is made behind pitman's back, with the guards taken off, and must be found by the check that is
// for it.
func TestVerifyFindsEachFault(t *testing.T) {
	for name, c := range map[string]struct {
		hurt    string
		check   string
		subject string
		what    string
	}{
		"nothing": {hurt: ""},
		"a field changed": {"UPDATE machine SET maker = 'B' WHERE id = 1", "history", "PM16",
			`maker of machine 1 is "B", but its history ends with "Harrow & Finch"`},
		"a field emptied": {"UPDATE machine SET serial = '' WHERE id = 1", "history", "PM16",
			`serial of machine 1 is ""`},
		"a year changed": {"UPDATE machine SET year_to = 1900 WHERE id = 2", "history", "PM24",
			`year_to of machine 2 is "1900", but its history ends with "1931"`},
		"a list changed": {`UPDATE machine SET seen = '[1932]' WHERE id = 2`, "history", "PM24",
			`seen of machine 2 is "[1932]"`},
		"a machine gone": {"DROP TRIGGER machine_kept; DELETE FROM machine WHERE id = 2", "history", "PM24",
			"its history tells of machine 2, which is not there"},
		"the first machine gone": {"DROP TRIGGER machine_kept; DELETE FROM machine WHERE id = 1", "history",
			"PM16", "its history tells of machine 1, which is not there"},
		"a history gone": {"DROP TRIGGER change_kept; DELETE FROM change WHERE subject = 'PM16'",
			"history", "machine 1", "is there, but no history tells how it came"},
		"a later change gone": {"DROP TRIGGER change_kept; DELETE FROM change WHERE fields LIKE '%shelf%'",
			"history", "PM24", `place of machine 2 is "shelf 3", but no history tells who set it`},
		"a history of no table": {"INSERT INTO change VALUES (99, 1, 'bobbin', 1, 'PM16', '{}', '')",
			"history",
			"bobbin", "has a history but no table"},
		"an unreadable history": {"DROP TRIGGER change_stays; UPDATE change SET fields = '[]' WHERE " +
			"subject = 'PM16'", "history", "PM16", "cannot be read"},
		"a link to nowhere": {"INSERT INTO change VALUES (99, 77, 'machine', 1, 'PM16', '{}', '')", "links",
			"change 99", "refers to a row of action that is not there"},
		"a wrong check character": {"DROP TRIGGER machine_tag_stays; UPDATE machine SET tag = 'PM17' WHERE " +
			"id = 1", "tags", "machine 1", `its tag "PM17" has a wrong check character`},
		"a tag of two units": {`INSERT INTO base VALUES (1, 0, 'PM16', 'logged', '', '', '', '', '', '', '', '', '', '', 0, 0, 0, 0, 0, 0, 0, 0, '', 'fixed',
			'', '', '', '', '', '', '')`, "tags", "PM16", "is the tag of a machine and of a base"},
		"a unit promised twice": {"DROP INDEX order_set_head; " + anOrder + aSet + aSet, "orders", "PM16",
			"is promised twice: to ORD1 and ORD1"},
		"promised, not reserved": {anOrder + aSet, "orders", "PM16", "is promised to ORD1, but is logged"},
		"reserved for nobody": {"UPDATE machine SET stage = 'reserved' WHERE id = 1", "orders", "PM16",
			"is reserved, and no order has it"},
		"a promised stranger": {"PRAGMA foreign_keys = OFF; " + anOrder +
			strings.ReplaceAll(aSet, "PM16", "PM4Z"), "orders", "PM4Z",
			"is promised to ORD1, and is not in the house"},
		"electric without a pass": {"UPDATE machine SET stage = 'ready', drive = 'electric', tested_at = " +
			"'2031-05-04T09:30:00.000Z' WHERE id = 1", "safety", "PM16",
			"is electric and ready without a safety pass"},
		"on a shipment that is not there": {"UPDATE machine SET stage = 'reserved' WHERE id = 1; " + anOrder +
			aSet + "; UPDATE order_set SET shipment = 'SHIPMENT7'", "shipments", "PM16",
			"goes with SHIPMENT7, which does not know of it"},
		"left, and its shipment did not": {anOrder + aSet + aShipment + "UPDATE order_set SET shipment = " +
			"'SHIPMENT7', shipped_at = '2031-05-04T09:30:00.000Z'", "shipments", "PM16",
			"goes with SHIPMENT7, and only one of them has left"},
		"with two shipments": {"DROP INDEX order_set_head; " + anOrder + aSet + aSet + aShipment +
			"UPDATE order_set SET shipment = 'SHIPMENT' || id", "shipments", "PM16",
			"goes with more than one shipment"},
		"a shipment to come again": {aShipment, "shipments", "SHIPMENT7", "its number is above 0"},
		"a stranger that was sold": {"INSERT INTO taking VALUES (1, 0, '', 'PM4Z', 'sale', '', '', 0, 4500, " +
			"'EUR', '2031-05-04T09:30:00.000Z', 'QX', '', 0)", "takings", "PM4Z", "is not in the house"},
		"a part that left, and is in a machine": {"INSERT INTO spare (part, taken_from, maker, model, " +
			"taken_at, " +
			"taken_by, place, fitted_to, fitted_at, fitted_by, replaced, left_at, left_by) VALUES " +
			"('motor', 'PM24', '', '', " +
			"'2031-05-04T09:30:00.000Z', 'QX', '', 'PM16', '2031-05-05T09:30:00.000Z', 'QX', 0, " +
			"'2031-05-05T09:30:00.000Z', 'QX')", "sold parts", "S1", "do not agree with that"},
		"a lot to come again": {"INSERT INTO taking VALUES (1, 0, 'TAKING7', '', 'parts', '', '', 0, NULL, " +
			"'', '2031-05-04T09:30:00.000Z', 'QX', '', 0)", "takings", "TAKING7", "its number is above 0"},
		"a machine not searched": {"DELETE FROM machine_text_segdir; DELETE FROM machine_text_segments",
			"texts", "PM16", "a search would miss it"},
		"a text not searched": {reindex + "(1, '504d31 506d31 704d31 706d31'), (2, '706d32')", "texts",
			"PM16", "a search would miss it"},
		"a PIN taken out": {`INSERT INTO pin VALUES (1, 0, 'EL', '2031-05-04T09:30:00.000Z', 'EL', 0)`,
			"pins",
			"PIN of EL", "what the house keeps of it is gone"},
		"another house's id": {"UPDATE identity SET value = 'f00d' WHERE name = 'house'", "chain",
			"house f00d",
			"is not the house that this history began in"},
		"actions miscounted": {"UPDATE acted SET actions = actions + 1", "people", "QX",
			"more or fewer actions"},
		"here since another day": {"UPDATE person SET since = '2033-05-04T09:30:00.000Z'", "people", "QX",
			"here since a time"},
		"nobody counted":         {"DELETE FROM acted", "people", "QX", "more or fewer actions"},
		"a number to come again": {"UPDATE counter SET value = 1", "tags", "PM24", "its number is above 1"},
		"no numbers":             {"DELETE FROM counter", "tags", "PM24", "its number is above 0"},
		"an order to come again": {anOrder, "tags", "ORD1", "its number is above 0"},
		"a moment that is none": {"DROP TRIGGER action_stays; UPDATE action SET at = " +
			"'2031-02-30T09:30:00.000Z' WHERE id = 2", "times", "action 2",
			`its time is "2031-02-30T09:30:00.000Z", which is none`},
		"a person since never": {"UPDATE person SET since = ''", "times", "person QX",
			`its time is "", which is none`},
		"a change twice": {"INSERT INTO change SELECT 99, action, kind, ref, subject, fields, marks FROM " +
			"change " +
			"WHERE fields LIKE '%shelf%'", "history", "PM24",
			"place of machine 2 does not follow"},
		"a change filed apart": {"DROP TRIGGER change_stays; UPDATE change SET subject = 'PM16' WHERE " +
			"fields LIKE '%shelf%'", "history", "PM24",
			`a change of its machine 2 is filed under "PM16"`},
		"a value of no column": {`INSERT INTO change VALUES (98, 1, 'machine', 1, 'PM16', '{"place": [null, ["a"]]}', ''),
			(99, 1, 'machine', 1, 'PM16', '{"place": [["a"], ["b"]]}', '')`, "history", "PM16",
			`place of machine 1 is "", but its history ends with "[b]"`},
		"a record filed apart": {"DROP TRIGGER change_stays; UPDATE change SET subject = 'PM24' WHERE " +
			"subject = 'PM16'", "history", "PM16",
			`a change of its machine 1 is filed under "PM24"`},
		"a value that cannot be": {"PRAGMA ignore_check_constraints = ON; UPDATE machine SET drive = " +
			"'steam' WHERE id = 1", "file", "pitman.db", "CHECK constraint failed in machine"},
	} {
		t.Run(name, func(t *testing.T) {
			w, db, path := registrytest.Open(t)
			require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine("K1"), false))
			m := registrytest.Machine("K2")
			require.NoError(t, w.Log(registrytest.Ctx, "QX", m, false))
			_, err := w.Amend(registrytest.Ctx, "QX", m.Tag, "",
				func(m *stock.Machine) error { m.Place = "shelf 3"; return nil })
			require.NoError(t, err)
			raw := registrytest.Raw(t, path)
			_, err = raw.Exec(c.hurt)
			require.NoError(t, err)
			require.NoError(t, raw.Close())
			faults, err := db.Verify(registrytest.Ctx, "PM", nil)
			require.NoError(t, err)
			if c.check == "" {
				assert.Empty(t, faults)
				return
			}
			require.NotEmpty(t, faults)
			for _, f := range faults {
				assert.NotEmpty(t, f.Mend)
				if f.Check == c.check && f.Subject == c.subject {
					assert.Contains(t, f.What, c.what)
					return
				}
			}
			assert.Fail(t, "not found", "%+v", faults)
		})
	}
}

func TestManyFaultsOfAKindAreSummedUp(t *testing.T) {
	w, db, path := registrytest.Open(t)
	for range 30 {
		require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine("K1"), true))
	}
	_, err := registrytest.Raw(t, path).Exec("UPDATE machine SET note = 'x'")
	require.NoError(t, err)
	faults, err := db.Verify(registrytest.Ctx, "PM", nil)
	require.NoError(t, err)
	require.Len(t, faults, 21)
	assert.Equal(t, "10 more like these", faults[20].What)
}

func TestATornPageIsAFaultWithItsMending(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	for range 200 {
		require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine("K1"), true))
	}
	whole := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, db.CopyTo(registrytest.Ctx, whole))
	text, err := os.ReadFile(whole)
	require.NoError(t, err)
	// The first page holds the schema and a file without it is refused as a whole; any other page is hurt in
	// turn, on each change every ninth.
	each := 1
	if os.Getenv("NIGHTLY") == "" {
		each = 9
	}
	for page := 1; page < len(text)/4096; page += each {
		hurt := append([]byte{}, text...)
		for i := range 512 {
			hurt[page*4096+i] = 0xA5
		}
		file := filepath.Join(t.TempDir(), "hurt.db")
		require.NoError(t, os.WriteFile(file, hurt, 0o600))
		db, err := sqlite.Inspect(file)
		require.NoError(t, err)
		faults, err := db.Verify(registrytest.Ctx, "PM", nil)
		require.NoError(t, err, "page %d", page)
		require.NotEmpty(t, faults, "page %d", page)
		assert.Contains(t, faults[0].Mend, "restore the latest backup that is whole")
		require.NoError(t, db.Close())
	}
}

// The history of a house that has worked for a while is replayed beside the other checks.
func TestFaultsOfALongHistoryStandInTheOrderOfTheChecks(t *testing.T) {
	w, db, path := registrytest.Open(t)
	for range 500 {
		require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine("K1"), true))
	}
	_, err := registrytest.Raw(t, path).Exec("UPDATE machine SET maker = 'B' WHERE id = 500; " +
		"UPDATE identity SET value = 'x' WHERE name = 'schema'; UPDATE person SET since = ''")
	require.NoError(t, err)
	faults, err := db.Verify(registrytest.Ctx, "PM", nil)
	require.NoError(t, err)
	var checks []string
	for _, f := range faults {
		checks = append(checks, f.Check)
	}
	assert.Equal(t, []string{"schema", "history", "times", "people"}, slices.Compact(checks))
}
