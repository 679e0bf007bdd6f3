package sqlite_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
)

// Whatever is done to the history or to what guards it, verify names it, and by this check.
func TestRewritingShows(t *testing.T) {
	for name, c := range map[string]struct{ hurt, check string }{
		"by": {"DROP TRIGGER action_stays; UPDATE action SET by = 'EL' WHERE id = 2; " + stays, "chain"},
		"at": {"DROP TRIGGER action_stays; UPDATE action SET at = '2031-05-01T09:30:00.000Z' WHERE id = 2; " +
			stays, "chain"},
		"verb": {"DROP TRIGGER action_stays; UPDATE action SET verb = 'sell' WHERE id = 2; " + stays,
			"chain"},
		"why": {"DROP TRIGGER action_stays; UPDATE action SET why = 'asked' WHERE id = 2; " + stays,
			"chain"},
		"erased with history": {"DROP TRIGGER change_kept; DROP TRIGGER machine_kept; DELETE FROM change " +
			"WHERE ref = 2; DELETE FROM machine WHERE id = 2; " + kept, "chain"},
		"an action planted": {"INSERT INTO action (at, by, verb, why, origin) VALUES " +
			"('2031-05-04T09:30:00.000Z', 'QX', 'log', '', '')", "chain"},
		"a chain cut short": {"DROP TRIGGER link_kept; DELETE FROM link WHERE id = (SELECT max (id) FROM " +
			"link); CREATE TRIGGER link_kept BEFORE DELETE ON link BEGIN SELECT RAISE (ABORT, 'history is " +
			"append-only'); END", "chain"},
		"a trigger dropped": {"DROP TRIGGER action_stays", "schema"},
		"a trigger planted": {"CREATE TRIGGER helper AFTER INSERT ON machine BEGIN UPDATE machine SET " +
			"note = 'x'; END", "schema"},
		"a unique index gone":  {"DROP INDEX order_set_head", "schema"},
		"a counter at its end": {"UPDATE counter SET value = 9223372036854775807 WHERE name = 'tag'", "tags"},
		"remembered decisions": {"INSERT INTO decisions (at, text) VALUES ('2031-05-04T09:30:00.000Z', " +
			"'[house]')", "chain"},
		"a table of other kind": {"CREATE TABLE notes (text TEXT)", "schema"},
	} {
		t.Run(name, func(t *testing.T) {
			w, db, path := registrytest.Open(t)
			require.NoError(t, w.Log(ctx, "EL", registrytest.Machine("K1"), false))
			require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K2"), false))
			registrytest.VerifiesClean(t, w)
			raw := registrytest.Raw(t, path)
			_, err := raw.Exec("PRAGMA foreign_keys = off; " + c.hurt)
			require.NoError(t, err)
			faults, err := db.Verify(ctx, "PM", nil)
			require.NoError(t, err)
			var checks []string
			for _, f := range faults {
				checks = append(checks, f.Check)
			}
			assert.Contains(t, checks, c.check, "%v", faults)
			if c.check == "schema" {
				assert.Equal(t, registry.Conflict, registry.CodeOf(db.CheckSchema(ctx)))
			} else {
				assert.NotContains(t, checks, "schema", "the test put the trigger back as it was")
				assert.NoError(t, db.CheckSchema(ctx))
			}
		})
	}
}

const (
	stays = "CREATE TRIGGER action_stays BEFORE UPDATE ON action BEGIN SELECT RAISE (ABORT, 'history is " +
		"append-only'); END"
	kept = "CREATE TRIGGER change_kept BEFORE DELETE ON change BEGIN SELECT RAISE (ABORT, 'history is " +
		"append-only'); END; CREATE TRIGGER machine_kept BEFORE DELETE ON machine BEGIN SELECT RAISE " +
		"(ABORT, 'a tag is given for good'); END"
)

// Another program's file is left as it is, whatever it numbers its own schema.
func TestAForeignFileIsRefused(t *testing.T) {
	for _, script := range []string{"CREATE TABLE song (title TEXT)",
		"CREATE TABLE song (title TEXT); PRAGMA user_version = 3",
		"CREATE TABLE song (title TEXT); PRAGMA user_version = 10; PRAGMA application_id = 77", "VACUUM"} {
		path := t.TempDir() + "/pitman.db"
		raw := registrytest.Raw(t, path)
		_, err := raw.Exec(script)
		require.NoError(t, err)
		_, err = sqlite.Open(path)
		require.Equal(t, registry.Conflict, registry.CodeOf(err), script)
		require.ErrorContains(t, err, "put the latest backup in its place")
		var tables []string
		rows, err := raw.Query("SELECT name FROM sqlite_schema")
		require.NoError(t, err)
		for rows.Next() {
			var name string
			require.NoError(t, rows.Scan(&name))
			tables = append(tables, name)
		}
		require.NoError(t, rows.Close())
		require.Equal(t, strings.Count(script, "TABLE"), len(tables), "nothing was put into it")
	}
}

// A house on its way keeps one chain; a restored one has another from there on.
func TestTheChainGoesOnAndBranches(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	first, err := db.Head(ctx)
	require.NoError(t, err)
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K1"), false))
	second, err := db.Head(ctx)
	require.NoError(t, err)
	require.Equal(t, first.Links+1, second.Links)
	for _, h := range []chain.Head{first, second} {
		same, err := db.Descends(ctx, h)
		require.NoError(t, err)
		require.True(t, same)
	}
	require.NoError(t, db.Branch(ctx, w.Now()))
	require.NoError(t, db.Remember(ctx, w.Now(), "[house]\n"))
	require.NoError(t, db.Remember(ctx, w.Now(), "[house]\n"), "the same again is nothing new")
	last, err := db.Head(ctx)
	require.NoError(t, err)
	require.Equal(t, second.Links+2, last.Links)
	same, err := db.Descends(ctx, chain.Head{House: last.House, Links: second.Links, Sum: last.Sum})
	require.NoError(t, err)
	require.False(t, same)
	registrytest.VerifiesClean(t, w)
}

// A registry that is said to be damaged may have been made by anybody: the id that it gives itself is text.
func TestAForgedHouseIsNoStatement(t *testing.T) {
	w, _, forged := registrytest.Open(t)
	require.NoError(t, w.Log(ctx, "QX", registrytest.Machine("K1"), false))
	id := "x'; DELETE FROM counter; -- ...."
	_, err := registrytest.Raw(t, forged).Exec("UPDATE identity SET value = ? WHERE name = 'house'", id)
	require.NoError(t, err)
	path := t.TempDir() + "/pitman.db"
	require.NoError(t, sqlite.Create(path))
	db, err := sqlite.Open(path)
	require.NoError(t, err)
	defer db.Close()
	from, err := sqlite.Damaged(forged)
	require.NoError(t, err)
	defer from.Close()
	_, _, err = db.TakeProved(ctx, from)
	require.NoError(t, err)
	var house string
	var counters int
	require.NoError(t, registrytest.Raw(t, path).QueryRow("SELECT (SELECT value FROM identity WHERE name = "+
		"'house'), (SELECT count(*) FROM counter)").Scan(&house, &counters))
	require.Equal(t, id, house)
	require.NotZero(t, counters)
}
