// Package verify is what must hold in a registry's file: its pages, its links from row to row, its history
// and the chain that vouches for it, its times, tags and numbers, and what its units claim.
//
// A Check is a question to the file with the tables that it needs, so that an older file can be asked, too.
// It reads by a Source, which whoever holds the file lends it: a whole file at rest, or a transaction that is
// not committed yet. What a unit may claim is a rule of package stock, and is only handed on here.
package verify

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"

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
	MendRestore = Remedy{"restore the latest backup that is whole by this check",
		[]registry.NextStep{registry.Next(registry.DoRestore, "")}}
	mendCounter = Remedy{"make a backup and restore it, which goes on above every number", Renew}
)

var Renew = []registry.NextStep{registry.Next(registry.DoRenew, "")}

// Remedy is what to do about a fault: a sentence, and the steps.
type Remedy struct {
	Say  string
	Next []registry.NextStep
}

// Rows are the answer to a query, one at a time.
type Rows interface {
	Next() bool
	Scan(dest ...any) error
	Columns() ([]string, error)
	Err() error
	Close() error
}

// Source reads the file in one transaction.
type Source interface {
	Query(text string, args ...any) (Rows, error)
	// Standings hands on each unit, or the one with this tag, and what the records show of it.
	Standings(tag registry.Tag, fn func(*stock.Standing) error) error
}

// Verification collects what the checks find.
type Verification struct {
	Source
	Letters string // with which the house's tags begin
	Needed  []stock.BasePart
	Only    []string // of these subjects alone the history is replayed; nil: of all

	Faults   []registry.Fault
	tables   tables
	name     string         // of the check that runs
	comingIn int64          // the action that has come in in part
	found    map[string]int // by each check
}

// Each check reads the tables and columns it needs; on a file whose schema has not come so far it is left
// out.
var checks = []struct {
	name  string
	needs []string
	run   func(*Verification) error
}{
	{"file", nil, (*Verification).file},
	{"schema", nil, (*Verification).schema},
	{"links", nil, (*Verification).links},
	{"history", []string{"action", "change"}, (*Verification).history},
	{"chain", []string{"link", "decisions"}, (*Verification).chain},
	{"times", []string{"action", "person"}, (*Verification).times},
	{"people", []string{"acted"}, (*Verification).people},
	{"tags", []string{"counter", "machine", "base", "partner_order"}, (*Verification).tags},
	{"units", []string{"function_test", "safety_test", "spare", "order_set", "base", "machine.mains",
		"machine.moved_in", "safety_test.revives"},
		(*Verification).units},
	{"spares", []string{"spare"}, (*Verification).spares},
	{"sold parts", []string{"spare.left_at"}, (*Verification).soldParts},
	{"orders", []string{"order_set", "base"}, (*Verification).promises},
	{"shipments", []string{"shipment", "order_set.shipment", "counter"}, (*Verification).shipments},
	{"takings", []string{"taking", "counter", "base"}, (*Verification).takings},
	{"pins", []string{"pin", "identity"}, (*Verification).pins},
	{"texts", []string{"machine_text"}, (*Verification).texts},
}

// Run runs the checks, but those that are left out.
func (v *Verification) Run(leftOut func(check string) bool) error {
	return v.Guard("file", func() error { return v.all(leftOut) })
}

// Quick looks for what a start of work should not go over: a schema that somebody changed, counters that
// would give a number again, and an end of the chain that is not what was recorded.
func (v *Verification) Quick() error {
	return v.Guard("schema", func() error {
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
}

// Sort puts faults in the order of the checks that found them.
func Sort(faults []registry.Fault) {
	place := func(f registry.Fault) int {
		for i, check := range checks {
			if check.name == f.Check {
				return i
			}
		}
		return len(checks)
	}
	slices.SortStableFunc(faults, func(a, b registry.Fault) int { return cmp.Compare(place(a), place(b)) })
}

func (v *Verification) all(leftOut func(string) bool) error {
	var err error
	if v.tables, err = readTables(v); err != nil {
		return err
	}
	for _, check := range checks {
		if leftOut(check.name) {
			continue
		}
		if slices.ContainsFunc(check.needs, func(name string) bool { return !v.tables.have(name) }) {
			continue
		}
		if err := v.Guard(check.name, func() error { return check.run(v) }); err != nil {
			return fmt.Errorf("check of %s: %w", check.name, err)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(v.found)) {
		if more := v.found[name] - maxFaults; more > 0 {
			v.Faults = append(v.Faults,
				registry.Fault{Check: name, Subject: "…", What: fmt.Sprintf("%d more like these", more),
					Mend: "as above"})
		}
	}
	return nil
}

// Guard makes it a fault when a check cannot read the file through, instead of an end to all checks.
func (v *Verification) Guard(name string, check func() error) error {
	v.name = name
	err := check()
	var broken sqlite3.Error
	if errors.As(err, &broken) && (broken.Code == sqlite3.ErrCorrupt || broken.Code == sqlite3.ErrNotADB) {
		v.Fault("pitman.db", MendRestore, "cannot be read through: %v", broken)
		return nil
	}
	return err
}

func (v *Verification) Fault(subject string, mend Remedy, what string, args ...any) {
	v.told(registry.Fault{Check: v.name, Subject: subject, What: fmt.Sprintf(what, args...), Mend: mend.Say,
		Next: mend.Next})
}

func (v *Verification) told(f registry.Fault) {
	if v.found == nil {
		v.found = map[string]int{}
	}
	if v.found[f.Check]++; v.found[f.Check] <= maxFaults {
		v.Faults = append(v.Faults, f)
	}
}

// file is SQLite's own check: pages, indexes, and what the columns may hold. Where a virtual table happens to
// be the first of its tables SQLite takes a check of the whole file for one of a part, and passes over the
// list of free pages; asked about the schema alone it looks at that, too.
func (v *Verification) file() error {
	told := map[string]bool{"ok": true}
	for _, check := range []string{"PRAGMA integrity_check", "PRAGMA integrity_check (sqlite_schema)"} {
		lines, err := Strings(v, check)
		if err != nil {
			return err
		}
		for _, line := range lines {
			if !told[line] {
				v.Fault("pitman.db", MendRestore, "SQLite finds the file damaged: %s", line)
			}
			told[line] = true
		}
	}
	return nil
}

// links are the references from row to row.
func (v *Verification) links() error {
	rows, err := v.Query("PRAGMA foreign_key_check")
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
		v.Fault(fmt.Sprintf("%s %v", table, row), MendRestore, "refers to a row of %s that is not there",
			parent)
	}
	return rows.Err()
}

// times looks for moments that are none: the history is sorted by them.
func (v *Verification) times() error {
	rows, err := v.Query(`SELECT what, at FROM (SELECT 'action ' || id AS what, at FROM action UNION ALL
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
		v.Fault(what, MendRestore, "its time is %q, which is none", at)
	}
	return rows.Err()
}

// mendPIN is for a PIN by which nobody can sign.
var mendPIN = Remedy{Say: "nobody can sign with it: let a coordinator of the house set another"}

// pins looks for PINs of which the house lost what it keeps: by hand, perhaps, so that somebody could sign
// without.
func (v *Verification) pins() error {
	lost, err := Strings(v, `SELECT who FROM pin WHERE struck = 0 AND set_at <> ''
		AND NOT EXISTS (SELECT 1 FROM identity WHERE name = 'pin of ' || who)`)
	for _, who := range lost {
		v.Fault("PIN of "+who, mendPIN, "was set, by the history, and what the house keeps of it is gone")
	}
	return err
}

// people counts again what each did, and looks for whoever is here since another moment than one of theirs.
func (v *Verification) people() error {
	wrong, err := Strings(v, `SELECT initials FROM person
		WHERE NOT EXISTS (SELECT 1 FROM action WHERE by = initials AND at = since)`)
	if err != nil {
		return err
	}
	for _, who := range wrong {
		v.Fault(who, MendRestore, "is told to be here since a time at which the history has nothing of them")
	}
	wrong, err = Strings(v, `SELECT initials FROM person LEFT JOIN acted USING (initials)
		WHERE coalesce(actions, 0) <> (SELECT count(*) FROM action WHERE by = initials)`)
	for _, who := range wrong {
		v.Fault(who, MendRestore, "is counted with more or fewer actions than the history has of them")
	}
	return err
}

// OrderNumbers is how far the numbers of the orders have come, whatever the counter says.
const OrderNumbers = "SELECT coalesce (max (CAST (substr (number, 4) AS INTEGER)), 0) FROM partner_order"

// identified are the tables whose records bear a number of a counter behind letters, by that counter.
var identified = map[string]struct{ table, letters string }{"partner": {"partner", "PARTNER"},
	"paper": {"order_paper", "PAPER"}, "shipment": {"shipment", "SHIPMENT"},
	"pledge": {"pledge", "PLEDGE"}, "taking": {"taking", "TAKING"}}

// RaiseCounters lists the statements that make the counters at least as high as what the records have.
func RaiseCounters() []string {
	raise := func(counter, highest string) string {
		return "UPDATE counter SET value = max(value, (" + highest + ")) WHERE name = '" + counter + "'"
	}
	list := []string{raise("order", OrderNumbers)}
	for counter, of := range identified {
		list = append(list,
			raise(counter, fmt.Sprintf("SELECT coalesce(max(CAST(substr(ident, %d) AS INTEGER)), 0) FROM %s",
				len(of.letters)+1, of.table)))
	}
	return list
}

// maxGiven is above any number that a house can have given.
const maxGiven = 1 << 40

// counters looks for numbers that were given and would be given again, and returns how far the house knows to
// have come with its tags.
func (v *Verification) counters() (tags int64, err error) {
	var orders, lastOrder int64
	if err := Row(v, "SELECT coalesce (max (value) FILTER (WHERE name = 'tag'), 0), coalesce (max (value) "+
		"FILTER (WHERE name = 'order'), 0), ("+OrderNumbers+") FROM counter", nil,
		&tags, &orders, &lastOrder); err != nil {
		return 0, err
	}
	for _, c := range []struct {
		name  string
		value int64
	}{{"tags", tags}, {"orders", orders}} {
		if c.value > maxGiven {
			v.Fault("the counter of "+c.name, MendRestore, "stands at %d, which no house ever gave", c.value)
		}
	}
	if lastOrder > orders {
		v.Fault(fmt.Sprintf("ORD%d", lastOrder), mendCounter, againGiven, orders)
	}
	return tags, nil
}

const againGiven = "its number is above %d, the last one that the house knows to have given: it would be " +
	"given again"

// tags looks at check characters, at numbers that will be given again, and at tags that two units carry.
func (v *Verification) tags() error {
	counter, err := v.counters()
	if err != nil {
		return err
	}
	twice, err := Strings(v, "SELECT machine.tag FROM machine JOIN base ON base.tag = machine.tag")
	if err != nil {
		return err
	}
	for _, tag := range twice {
		v.Fault(tag, MendRestore, "is the tag of a machine and of a base")
	}
	return eachTag(v, v.tables, func(table string, id int64, tag registry.Tag) {
		letters, n, ok := tag.Parts()
		switch {
		case !ok:
			v.Fault(fmt.Sprintf("%s %d", table, id), MendRestore, "its tag %q has a wrong check character",
				tag)
		case letters == v.Letters && n > counter:
			v.Fault(string(tag), mendCounter, againGiven, counter)
		}
	})
}

// Strings reads a query of one text column.
func Strings(r Source, text string, args ...any) (out []string, err error) {
	rows, err := r.Query(text, args...)
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
