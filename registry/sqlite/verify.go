package sqlite

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	"github.com/mattn/go-sqlite3"

	"pitman/registry"
	"pitman/registry/stock"
)

// maxFaults of one check are told one by one; a damaged file has the same thing wrong with thousands of
// rows.
const maxFaults = 20

// What mends most faults: pitman keeps these rules itself, so a file that breaks one was changed behind its
// back.
var (
	mendRestore = remedy{"restore the latest backup that is whole by this check",
		[]registry.NextStep{registry.Next(registry.DoRestore, "")}}
	mendCounter = remedy{"make a backup and restore it, which goes on above every number", renew}
)

var renew = []registry.NextStep{registry.Next(registry.DoRenew, "")}

// remedy is what to do about a fault: a sentence, and the steps.
type remedy struct {
	say  string
	next []registry.NextStep
}

// verification collects what the checks find.
type verification struct {
	*reader
	letters string
	needed  []stock.BasePart
	only    []string       // of these subjects alone the history is replayed; nil: of all
	name    string         // of the check that runs
	found   map[string]int // by each check
	faults  []registry.Fault
}

// Each check reads the tables it needs; on a file whose schema has not come so far it is left out.
var checks = []struct {
	name  string
	needs []string
	run   func(*verification) error
}{
	{"file", nil, (*verification).file},
	{"schema", nil, (*verification).schema},
	{"links", nil, (*verification).links},
	{"history", []string{"action", "change"}, (*verification).history},
	{"chain", []string{"link", "decisions"}, (*verification).chain},
	{"times", []string{"action", "person"}, (*verification).times},
	{"tags", []string{"counter", "machine", "base", "partner_order"}, (*verification).tags},
	{"units", []string{"function_test", "safety_test", "spare", "order_set", "base"}, (*verification).units},
	{"spares", []string{"spare"}, (*verification).spares},
	{"orders", []string{"order_set", "base"}, (*verification).promises},
	{"texts", []string{"machine_text"}, (*verification).texts},
}

// Verify looks for everything that the rules of a registry rule out. letters are those that the house's tags
// begin with, needed its list of the parts of a base.
func (db *DB) Verify(ctx context.Context, letters string, needed []stock.BasePart) ([]registry.Fault, error) {
	// The replay takes about as long as all else, and neither needs what the other finds.
	replays := func(name string) bool { return name == "history" }
	parts := []*verification{
		{letters: letters, needed: needed, name: "file", found: map[string]int{}},
		{letters: letters, needed: needed, name: "history", found: map[string]int{}},
	}
	failed := make([]error, len(parts))
	var running sync.WaitGroup
	for i, v := range parts {
		running.Go(func() {
			failed[i] = v.guard(func() error {
				return db.transaction(ctx, forReading, func(r *reader) error {
					v.reader = r
					return v.all(func(name string) bool { return replays(name) == (i == 0) })
				})
			})
		})
	}
	running.Wait()
	var faults []registry.Fault
	for _, v := range parts {
		faults = append(faults, v.faults...)
	}
	slices.SortStableFunc(faults,
		func(a, b registry.Fault) int { return cmp.Compare(placeOf(a), placeOf(b)) })
	return faults, db.explain(errors.Join(failed...))
}

// placeOf is where the check of a fault stands in the list of checks.
func placeOf(f registry.Fault) int {
	for i, check := range checks {
		if check.name == f.Check {
			return i
		}
	}
	return len(checks)
}

// VerifyQuick looks for what a start of work should not go over: a schema that somebody changed, counters
// that would give a number again, and an end of the chain that is not what was recorded.
func (db *DB) VerifyQuick(ctx context.Context) ([]registry.Fault, error) {
	v := &verification{name: "schema", found: map[string]int{}}
	err := v.guard(func() error {
		return db.transaction(ctx, forReading, func(r *reader) error {
			v.reader = r
			if err := v.schema(); err != nil {
				return err
			}
			v.name = "tags"
			if _, err := v.counters(); err != nil {
				return err
			}
			v.name = "chain"
			return v.chainEnd()
		})
	})
	return v.faults, db.explain(err)
}

// all runs the checks, but those that are left out.
func (v *verification) all(leftOut func(name string) bool) error {
	tables, err := v.strings("SELECT name FROM sqlite_schema WHERE type = 'table'")
	if err != nil {
		return err
	}
	for _, check := range checks {
		if leftOut(check.name) {
			continue
		}
		if slices.ContainsFunc(check.needs,
			func(name string) bool { return !slices.Contains(tables, name) }) {
			continue
		}
		v.name = check.name
		if err := v.guard(func() error { return check.run(v) }); err != nil {
			return fmt.Errorf("check of %s: %w", check.name, err)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(v.found)) {
		if more := v.found[name] - maxFaults; more > 0 {
			v.faults = append(v.faults,
				registry.Fault{Check: name, Subject: "…", What: fmt.Sprintf("%d more like these", more),
					Mend: "as above"})
		}
	}
	return nil
}

// guard makes it a fault when a check cannot read the file through, instead of an end to all checks.
func (v *verification) guard(check func() error) error {
	err := check()
	var broken sqlite3.Error
	if errors.As(err, &broken) && (broken.Code == sqlite3.ErrCorrupt || broken.Code == sqlite3.ErrNotADB) {
		v.fault("pitman.db", mendRestore, "cannot be read through: %v", broken)
		return nil
	}
	return err
}

func (v *verification) fault(subject string, mend remedy, what string, args ...any) {
	v.told(registry.Fault{Check: v.name, Subject: subject, What: fmt.Sprintf(what, args...), Mend: mend.say,
		Next: mend.next})
}

func (v *verification) told(f registry.Fault) {
	if v.found[f.Check]++; v.found[f.Check] <= maxFaults {
		v.faults = append(v.faults, f)
	}
}

// file is SQLite's own check: pages, indexes, and what the columns may hold.
func (v *verification) file() error {
	lines, err := v.strings("PRAGMA integrity_check")
	for _, line := range lines {
		if line != "ok" {
			v.fault("pitman.db", mendRestore, "SQLite finds the file damaged: %s", line)
		}
	}
	return err
}

// links are the references from row to row.
func (v *verification) links() error {
	rows, err := v.query("PRAGMA foreign_key_check")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var table, parent string
		var row, constraint any
		if err := rows.Scan(&table, &row, &parent, &constraint); err != nil {
			return err
		}
		v.fault(fmt.Sprintf("%s %v", table, row), mendRestore, "refers to a row of %s that is not there",
			parent)
	}
	return rows.Err()
}

// times looks for moments that are none: the history is sorted by them.
func (v *verification) times() error {
	rows, err := v.query(`SELECT what, at FROM (SELECT 'action ' || id AS what, at FROM action UNION ALL
		SELECT 'person ' || initials, since FROM person)
		WHERE at IS NOT strftime ('%Y-%m-%dT%H:%M:%fZ', at)`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var what, at string
		if err := rows.Scan(&what, &at); err != nil {
			return err
		}
		v.fault(what, mendRestore, "its time is %q, which is none", at)
	}
	return rows.Err()
}

// orderNumbers is how far the numbers of the orders have come, whatever the counter says.
const orderNumbers = "SELECT coalesce (max (CAST (substr (number, 4) AS INTEGER)), 0) FROM partner_order"

// maxGiven is above any number that a house can have given.
const maxGiven = 1 << 40

// counters looks for numbers that were given and would be given again, and returns how far the house knows to
// have come with its tags.
func (v *verification) counters() (tags int64, err error) {
	var orders, lastOrder int64
	s, err := v.prepare("SELECT coalesce (max (value) FILTER (WHERE name = 'tag'), 0), coalesce (max " +
		"(value) FILTER (WHERE name = 'order'), 0), (" +
		orderNumbers + ") FROM counter")
	if err != nil {
		return 0, err
	}
	if err := s.QueryRowContext(v.ctx).Scan(&tags, &orders, &lastOrder); err != nil {
		return 0, err
	}
	for _, c := range []struct {
		name  string
		value int64
	}{{"tags", tags}, {"orders", orders}} {
		if c.value > maxGiven {
			v.fault("the counter of "+c.name, mendRestore, "stands at %d, which no house ever gave", c.value)
		}
	}
	if lastOrder > orders {
		v.fault(fmt.Sprintf("ORD%d", lastOrder), mendCounter, againGiven, orders)
	}
	return tags, nil
}

const againGiven = "its number is above %d, the last one that the house knows to have given: it would be " +
	"given again"

// tags looks at check characters, at numbers that will be given again, and at tags that two units carry.
func (v *verification) tags() error {
	counter, err := v.counters()
	if err != nil {
		return err
	}
	twice, err := v.strings("SELECT machine.tag FROM machine JOIN base ON base.tag = machine.tag")
	if err != nil {
		return err
	}
	for _, tag := range twice {
		v.fault(tag, mendRestore, "is the tag of a machine and of a base")
	}
	return v.eachTag(func(table string, id int64, tag registry.Tag) {
		letters, n, ok := tag.Parts()
		switch {
		case !ok:
			v.fault(fmt.Sprintf("%s %d", table, id), mendRestore, "its tag %q has a wrong check character",
				tag)
		case letters == v.letters && n > counter:
			v.fault(string(tag), mendCounter, againGiven, counter)
		}
	})
}

// eachTag calls fn for every tag that a record carries or refers to.
func (r *reader) eachTag(fn func(table string, id int64, tag registry.Tag)) error {
	tables, err := r.recordTables("tag")
	if err != nil {
		return err
	}
	for _, table := range tables {
		rows, err := r.query("SELECT id, tag FROM " + table + " WHERE tag <> ''")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var id int64
			var tag string
			if err := rows.Scan(&id, &tag); err != nil {
				return err
			}
			fn(table, id, registry.Tag(tag))
		}
		if err := rows.Err(); err != nil {
			return err
		}
	}
	return nil
}

// recordTables names the tables that hold records, and have these columns.
func (r *reader) recordTables(columns ...string) ([]string, error) {
	text, args := "SELECT name FROM sqlite_schema AS s WHERE type = 'table'", []any{}
	for _, column := range append([]string{"id", "struck"}, columns...) {
		text += " AND EXISTS (SELECT 1 FROM pragma_table_info (s.name) AS c WHERE c.name = ?)"
		args = append(args, column)
	}
	return r.strings(text+" ORDER BY name", args...)
}

// strings reads a query of one text column.
func (r *reader) strings(text string, args ...any) (out []string, err error) {
	rows, err := r.query(text, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}
