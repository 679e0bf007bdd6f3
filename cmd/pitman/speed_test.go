package main

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry/growth"
	"pitman/registry/registrytest/lacking"
)

// BenchmarkImportBesideTheShell takes 100,000 machines in from a spreadsheet, with every check and the
// history, and then lets the sqlite3 shell .import the finished rows into the same tables with the same
// indexes and the same durability. The index of texts is left to pitman alone: the shell could not fill it.
func BenchmarkImportBesideTheShell(b *testing.B) {
	const shell = "sqlite3"
	lacking.Program(b, shell, shell)
	const rows = 100_000
	dir := b.TempDir()
	file, err := os.Create(filepath.Join(dir, "in.csv"))
	require.NoError(b, err)
	out := bufio.NewWriter(file)
	fmt.Fprintln(out, "maker,serial,drive,model,donor,condition,place,note")
	dice := rand.New(rand.NewPCG(1, 2))
	for i := range rows {
		m := growth.Machine(dice, i)
		fmt.Fprintf(out, "%s,%s,%s,%s,%q,%q,%s,%q\n", m.Maker, m.Serial, m.Drive, m.Model, m.Donor,
			m.Condition, m.Place, m.Note)
	}
	require.NoError(b, out.Flush())
	require.NoError(b, file.Close())
	// The program itself, as people have it: the one that scripts run is the test, a tenth slower.
	pitman := filepath.Join(dir, "pitman")
	built, err := exec.Command("go", "build", "-o", pitman, ".").CombinedOutput()
	require.NoError(b, err, "%s", built)
	run := func(name string, args ...string) time.Duration {
		cmd := exec.Command(name, args...)
		cmd.Dir = dir
		start := time.Now()
		text, err := cmd.CombinedOutput()
		require.NoError(b, err, "%.2000s", text)
		return time.Since(start)
	}
	var ours, theirs time.Duration
	for i := range b.N {
		made, copied := fmt.Sprint("made", i), fmt.Sprint("copied", i)
		run(pitman, "--house", made, "init")
		run(pitman, "--house", copied, "init")
		ours += run(pitman, "--house", made, "import", "in.csv", "--by", "QX", "--json")
		// NULL cannot pass through CSV into a column of numbers; a nought in its place costs the same.
		list, err := exec.Command(shell, filepath.Join(dir, made, "pitman.db"),
			"SELECT group_concat(CASE WHEN name LIKE 'year\\_%' ESCAPE '\\' THEN 'coalesce(' || name || ', "+
				"0)' ELSE name END) FROM pragma_table_info('machine')").Output()
		require.NoError(b, err)
		run(shell, made+"/pitman.db", ".mode csv", ".output machine.csv", "SELECT "+string(list)+
			" FROM machine",
			".output change.csv", "SELECT * FROM change")
		theirs += run(shell, copied+"/pitman.db", "PRAGMA synchronous = FULL", "PRAGMA cache_size = -65536",
			".mode csv", "BEGIN IMMEDIATE",
			"INSERT INTO person VALUES ('QX', '')",
			"INSERT INTO action (id, at, by, verb, why) VALUES (1, '', 'QX', 'import', '')",
			".import machine.csv machine", ".import change.csv change", "COMMIT")
		count, err := exec.Command(shell, filepath.Join(dir, copied, "pitman.db"),
			"SELECT count(*) FROM machine JOIN change ON ref = machine.id").Output()
		require.NoError(b, err)
		require.Equal(b, fmt.Sprintln(rows), string(count))
	}
	b.ReportMetric(float64(ours)/float64(theirs), "times-shell")
}
