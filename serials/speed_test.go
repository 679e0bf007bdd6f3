package serials_test

import (
	"bytes"
	"database/sql"
	"encoding/csv"
	"fmt"
	"io"
	"math/rand"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/table"
	"pitman/serials/years"
)

// The speed is measured beside what a workshop would otherwise do: keep the ranges in an indexed SQL table
// and ask it. Invented: 10 makers with 5 prefixes of 100 rows each, and a million serials drawn from them.
const (
	speedRows    = 5000
	speedSerials = 1_000_000
)

type stamped struct{ maker, prefix, serial string }

func speedTables(t testing.TB, count int) (*serials.Tables, []stamped) {
	var b strings.Builder
	b.WriteString(strings.Join(table.Columns, ",") + "\n")
	for i := range speedRows {
		first := i % 100 * 1000
		fmt.Fprintf(&b, "Maker %c,%s,%d,%d,%d,%d,,,invented,\n", 'A'+i/500, prefixOf(i/100%5), first+1, first+
			1000, 1850+i%100, 1850+i%100)
	}
	rows, faults := table.Read("t.csv", strings.NewReader(b.String()))
	require.Empty(t, faults)
	rnd := rand.New(rand.NewSource(3))
	list := make([]stamped, count)
	for i := range list {
		prefix := prefixOf(rnd.Intn(5))
		list[i] = stamped{fmt.Sprintf("Maker %c", 'A'+rnd.Intn(10)), prefix, prefix +
			strconv.Itoa(1+rnd.Intn(100_000))}
	}
	return serials.NewTables(rows), list
}

func prefixOf(i int) string { return []string{"", "A", "B", "KA", "KB"}[i] }

func speedDB(t testing.TB, tables *serials.Tables) *sql.DB {
	db, err := sql.Open("sqlite3", filepath.Join(t.TempDir(), "speed.db")+
		"?_journal_mode=WAL&_synchronous=OFF")
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	_, err = db.Exec(`CREATE TABLE ranges (maker TEXT, prefix TEXT, first INTEGER, last INTEGER, year_from INTEGER, year_to INTEGER,
		PRIMARY KEY (maker, prefix, first)) STRICT, WITHOUT ROWID`)
	require.NoError(t, err)
	tx, err := db.Begin()
	require.NoError(t, err)
	for _, r := range tables.Files()[0].Rows {
		_, err := tx.Exec("INSERT INTO ranges VALUES (?, ?, ?, ?, ?, ?)", r.Maker, r.Prefix, r.First,
			r.Last.N, r.From, r.To)
		require.NoError(t, err)
	}
	require.NoError(t, tx.Commit())
	return db
}

const speedQuery = "SELECT year_from, year_to, last FROM ranges WHERE maker = ? AND prefix = ? AND first " +
	"<= ? ORDER BY first DESC LIMIT 1"

// lookUp is the indexed query, prepared once. The serial is split beforehand, which spares SQL that work.
func lookUp(stmt *sql.Stmt, s stamped) (from, to years.Year, err error) {
	n, err := strconv.Atoi(s.serial[len(s.prefix):])
	if err != nil {
		return 0, 0, err
	}
	var last int
	err = stmt.QueryRow(s.maker, s.prefix, n).Scan(&from, &to, &last)
	if err == nil && n > last {
		return 0, 0, fmt.Errorf("%s lies above its row", s.serial)
	}
	return from, to, err
}

// BenchmarkMillionSerials dates one million serials against 5,000 rows, and reports how many times longer the
// same look-ups take by an indexed SQLite query in the same run.
func BenchmarkMillionSerials(b *testing.B) {
	tables, list := speedTables(b, speedSerials)
	stmt, err := speedDB(b, tables).Prepare(speedQuery)
	require.NoError(b, err)
	var ours, theirs time.Duration
	for b.Loop() {
		start := time.Now()
		sum := years.Year(0)
		for _, s := range list {
			e, err := tables.Estimate(s.maker, s.serial)
			if err != nil {
				b.Fatal(err)
			}
			sum += e.From
		}
		ours += time.Since(start)

		b.StopTimer()
		start = time.Now()
		other := years.Year(0)
		for _, s := range list {
			from, _, err := lookUp(stmt, s)
			if err != nil {
				b.Fatal(err)
			}
			other += from
		}
		theirs += time.Since(start)
		if sum != other {
			b.Fatal("the two ways date differently")
		}
		b.StartTimer()
	}
	b.ReportMetric(float64(ours.Nanoseconds())/float64(b.N)/speedSerials, "ns/serial")
	b.ReportMetric(float64(theirs.Nanoseconds())/float64(b.N)/speedSerials, "sql-ns/serial")
	b.ReportMetric(float64(theirs)/float64(ours), "times-sql")
}

// BenchmarkMillionRowsOfCSV dates a list of one million rows from CSV to CSV, beside the best that SQL does
// with the same list: import it in one transaction, join it to the indexed ranges, write the result.
func BenchmarkMillionRowsOfCSV(b *testing.B) {
	tables, list := speedTables(b, speedSerials)
	db := speedDB(b, tables)
	var in bytes.Buffer
	in.WriteString("id,maker,serial\n")
	for i, s := range list {
		fmt.Fprintf(&in, "%d,%s,%s\n", i, s.maker, s.serial)
	}
	var ours, theirs time.Duration
	for b.Loop() {
		start := time.Now()
		var out lines
		_, err := serials.Batch(bytes.NewReader(in.Bytes()), &out, tables)
		require.NoError(b, err)
		ours += time.Since(start)

		b.StopTimer()
		start = time.Now()
		var joined lines
		require.NoError(b, join(db, in.Bytes(), &joined))
		theirs += time.Since(start)
		require.Equal(b, out, joined+1, "rows, and a header")
		b.StartTimer()
	}
	b.ReportMetric(float64(theirs)/float64(ours), "times-sql")
}

// lines counts what is written.
type lines int

func (l *lines) Write(b []byte) (int, error) {
	*l += lines(bytes.Count(b, []byte("\n")))
	return len(b), nil
}

func join(db *sql.DB, in []byte, out io.Writer) error {
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if _, err := tx.Exec("CREATE TEMP TABLE list (id INTEGER PRIMARY KEY, maker TEXT, prefix TEXT, number " +
		"INTEGER)"); err != nil {
		return err
	}
	insert, err := tx.Prepare("INSERT INTO list VALUES (?, ?, ?, ?)")
	if err != nil {
		return err
	}
	rows := csv.NewReader(bytes.NewReader(in))
	rows.ReuseRecord = true
	if _, err := rows.Read(); err != nil {
		return err
	}
	for {
		r, err := rows.Read()
		if err != nil {
			break
		}
		prefix := strings.TrimRight(r[2], "0123456789")
		if _, err := insert.Exec(r[0], r[1], prefix, r[2][len(prefix):]); err != nil {
			return err
		}
	}
	found, err := tx.Query(`SELECT id, list.maker, list.prefix || number, year_from, year_to FROM list JOIN ranges ON ranges.maker = list.maker
		AND ranges.prefix = list.prefix AND first = (SELECT max(first) FROM ranges r WHERE r.maker = list.maker AND r.prefix = list.prefix AND r.first <= number)
		WHERE last >= number ORDER BY id`)
	if err != nil {
		return err
	}
	defer found.Close()
	w := csv.NewWriter(out)
	record := make([]sql.RawBytes, 5)
	for found.Next() {
		if err := found.Scan(&record[0], &record[1], &record[2], &record[3], &record[4]); err != nil {
			return err
		}
		if err := w.Write([]string{string(record[0]), string(record[1]), string(record[2]), string(record[3]),
			string(record[4])}); err != nil {
			return err
		}
	}
	w.Flush()
	return found.Err()
}

// The quick way allocates nothing, and stays that many times quicker than SQL that a slow machine cannot hide
// a lapse.
func TestDatingIsQuick(t *testing.T) {
	tables, list := speedTables(t, 10_000)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		if _, err := tables.Estimate("Maker C", "ka-5 0123"); err != nil {
			t.Fatal(err)
		}
	}))
	stmt, err := speedDB(t, tables).Prepare(speedQuery)
	require.NoError(t, err)
	start := time.Now()
	for _, s := range list {
		from, to, err := lookUp(stmt, s)
		require.NoError(t, err)
		e, err := tables.Estimate(s.maker, s.serial)
		require.NoError(t, err)
		require.Equal(t, years.Estimate{From: from, To: to, Best: from, Basis: years.Range}, e,
			"SQL says the same of %s %s", s.maker, s.serial)
	}
	t.Logf("10,000 serials checked against SQL in %v", time.Since(start))
}

// A list of a workshop's machines is dated at least that many times as fast as SQL imports and joins it, in
// the same run and as people's tables are: with each row in one piece, and with each in two.
func TestAListIsDatedFasterThanByAJoin(t *testing.T) {
	const atLeast, rows = 10, 20_000
	tables, list := speedTables(t, rows)
	var in bytes.Buffer
	in.WriteString("id,maker,serial\n")
	for i, s := range list {
		fmt.Fprintf(&in, "%d,%s,%s\n", i, s.maker, s.serial)
	}
	var split strings.Builder
	split.WriteString(strings.Join(table.Columns, ",") + "\n")
	for _, r := range tables.Files()[0].Rows {
		low, high := r, r
		low.Last.N -= 400
		high.First = low.Last.N + 1
		split.WriteString(low.CSV() + "\n" + high.CSV() + "\n")
	}
	halves, faults := table.Read("t.csv", strings.NewReader(split.String()))
	require.Empty(t, faults)
	require.Len(t, halves.Rows, 2*speedRows)
	for name, tables := range map[string]*serials.Tables{"whole": tables,
		"split": serials.NewTables(halves)} {
		db := speedDB(t, tables)
		took := func(do func(to io.Writer) error) (time.Duration, lines) {
			var out lines
			start := time.Now()
			require.NoError(t, do(&out))
			return time.Since(start), out
		}
		best := 0.0
		for try := 0; try < 20 && best < atLeast; try++ { // what else runs on the computer slows some of them
			ours, dated := took(func(to io.Writer) error {
				_, err := serials.Batch(bytes.NewReader(in.Bytes()), to, tables)
				return err
			})
			theirs, joined := took(func(to io.Writer) error { return join(db, in.Bytes(), to) })
			require.Equal(t, dated, joined+1, "rows, and a header")
			best = max(best, float64(theirs)/float64(ours))
		}
		t.Logf("%s: %.1f times as fast", name, best)
		assert.GreaterOrEqual(t, best, float64(atLeast), name)
	}
}
