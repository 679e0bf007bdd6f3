package sqlite_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pitman/registry/registrytest"

	"github.com/stretchr/testify/require"
)

// BenchmarkLogBesideABareCommit logs machines and, in turn, commits one row to a table of one column at the
// same durability, and syncs one page to a file. It reports what a log costs beyond the bare commit, in
// syncs.
func BenchmarkLogBesideABareCommit(b *testing.B) {
	w, _, _ := registrytest.Open(b)
	bare := registrytest.Raw(b, "file:"+filepath.Join(b.TempDir(), "bare.db")+
		"?_journal_mode=WAL&_synchronous=FULL")
	bare.SetMaxOpenConns(1)
	_, err := bare.Exec("CREATE TABLE t (text TEXT) STRICT")
	require.NoError(b, err)
	page := make([]byte, 4096)
	file, err := os.Create(filepath.Join(b.TempDir(), "page"))
	require.NoError(b, err)
	defer file.Close()
	var log, commit, sync time.Duration
	for i := range b.N {
		start := time.Now()
		require.NoError(b, w.Log(ctx, "QX", registrytest.Machine(fmt.Sprint(i)), false))
		logged := time.Now()
		_, err := bare.Exec("INSERT INTO t VALUES (?)", "one row")
		require.NoError(b, err)
		committed := time.Now()
		_, err = file.Write(page)
		require.NoError(b, err)
		require.NoError(b, file.Sync())
		log, commit, sync = log+logged.Sub(start), commit+committed.Sub(logged), sync+time.Since(committed)
	}
	b.ReportMetric(float64(log)/float64(commit), "times-commit")
	b.ReportMetric(float64(log-commit)/float64(sync), "syncs-beyond")
}
