package house_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/sqlite/schema"
	"pitman/registry/stock"
)

var ctx = context.Background()

// newHouse makes a house with one machine in it, and a backup of it.
func newHouse(t *testing.T) (h *house.House, backup string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	h, err = house.Open(dir)
	require.NoError(t, err)
	h.Now = func() time.Time { return time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC) }
	db, err := h.Registry()
	require.NoError(t, err)
	w := h.Workshop(db)
	m := stock.Machine{Maker: "Harrow & Finch", Serial: "K1", Drive: registry.Hand}
	require.NoError(t, w.Log(ctx, "QX", &m, false))
	backup = filepath.Join(t.TempDir(), "b.tar.gz")
	b, err := h.Backup(ctx, db, backup)
	require.NoError(t, err)
	assert.Empty(t, b.Faults)
	require.NoError(t, db.Close())
	return h, backup
}

type entry struct {
	header tar.Header
	text   string
}

func readArchive(t *testing.T, file string) (entries []entry) {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	require.NoError(t, err)
	in := tar.NewReader(z)
	for {
		header, err := in.Next()
		if err == io.EOF {
			return entries
		}
		require.NoError(t, err)
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		entries = append(entries, entry{*header, string(text)})
	}
}

func writeArchive(t *testing.T, entries ...entry) string {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	out := tar.NewWriter(z)
	for _, e := range entries {
		if e.header.Size == 0 {
			e.header.Size = int64(len(e.text))
		}
		require.NoError(t, out.WriteHeader(&e.header))
		_, err := io.WriteString(out, e.text)
		require.NoError(t, err)
	}
	_ = out.Close() // an entry may be shorter than it says
	require.NoError(t, z.Close())
	file := filepath.Join(t.TempDir(), "hostile.tar.gz")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	return file
}

func TestHostileBackupsAreRefusedAndLeaveNothing(t *testing.T) {
	_, good := newHouse(t)
	entries := readArchive(t, good)
	last := len(entries) - 1
	with := func(extra entry) []entry {
		return append(append([]entry{}, extra), entries...)
	}
	file := func(name string) entry {
		return entry{tar.Header{Name: name, Typeflag: tar.TypeReg, Mode: 0o600},
			"x"}
	}
	huge := file("tables/huge.csv")
	huge.header.Size = 1 << 40
	big := file("house.toml")
	big.text = string(make([]byte, 65<<20))
	other := file("tables/cooper-1968.csv")
	changed := append([]entry{}, entries...)
	changed[0].text = "#!" + changed[0].text[2:]

	for name, c := range map[string]struct {
		entries []entry
		want    string
	}{
		"a path outside":            {with(file("../../escaped")), `holds "../../escaped"`},
		"an absolute path":          {with(file("/etc/escaped")), `holds "/etc/escaped"`},
		"a path outside by a table": {with(file("tables/../../escaped")), `holds "tables/../../escaped"`},
		"a Windows path":            {with(file(`tables/..\escaped`)), `holds "tables/..\\escaped"`},
		"a program":                 {with(file("pitman")), `holds "pitman"`},
		"a hidden file":             {with(file("tables/.profile")), `holds "tables/.profile"`},
		"an escape code":            {with(file("\x1b[2J")), `holds "\x1b[2J"`},
		"a link": {with(entry{tar.Header{Name: "house.toml", Typeflag: tar.TypeSymlink,
			Linkname: "/etc/passwd"}, ""}), `holds "house.toml"`},
		"a folder": {with(entry{tar.Header{Name: "tables", Typeflag: tar.TypeDir}, ""}),
			`holds "tables"`},
		"a declared terabyte": {[]entry{huge}, "unpacks to far more than a house holds"},
		"a bomb":              {with(big), "unpacks to far more than a house holds"},
		"the same file twice": {with(other), "stands in it twice"},
		"an unlisted file":    {with(file("tables/extra.csv")), "it lists"},
		"a changed file":      {changed, "is not what was written into it"},
		"no manifest":         {entries[:last], "its end is missing"},
		"only a manifest":     {entries[last:], "it lists"},
		"something behind": {append(append([]entry{}, entries...), file("tables/z.csv")),
			"something stands behind its end"},
		"nothing": {nil, "its end is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			into := t.TempDir()
			_, err := house.Restore(ctx, writeArchive(t, c.entries...), filepath.Join(into, "new"), "")
			assert.ErrorContains(t, err, c.want)
			assert.Equal(t, registry.Invalid, registry.CodeOf(err))
			left, err := os.ReadDir(into)
			require.NoError(t, err)
			assert.Empty(t, left)
		})
	}
	_, err := house.Restore(ctx, writeArchive(t, entries...), filepath.Join(t.TempDir(), "new"), "")
	assert.NoError(t, err, "the helper itself writes archives that are taken")
}

func TestADamagedByteIsFound(t *testing.T) {
	_, good := newHouse(t)
	text, err := os.ReadFile(good)
	require.NoError(t, err)
	for at := 0; at < len(text); at += 1 + len(text)/60 {
		if at >= 3 && at <= 9 {
			continue // flags, time and system in the head of a gzip file carry nothing
		}
		hurt := bytes.Clone(text)
		hurt[at] ^= 0x10
		if bytes.Equal(unzipped(hurt), unzipped(text)) {
			continue // bits that fill up a block of the packing carry nothing
		}
		file := filepath.Join(t.TempDir(), "hurt.tar.gz")
		require.NoError(t, os.WriteFile(file, hurt, 0o600))
		_, err := house.Restore(ctx, file, filepath.Join(t.TempDir(), "new"), "")
		assert.Error(t, err, "byte %d", at)
	}
}

// unzipped is what a gzip file holds, or nil when it is damaged.
func unzipped(text []byte) []byte {
	r, err := gzip.NewReader(bytes.NewReader(text))
	if err != nil {
		return nil
	}
	out, err := io.ReadAll(r)
	if err != nil {
		return nil
	}
	return out
}

func TestABackupIsMadeBeforeTheSchemaChanges(t *testing.T) {
	h, _ := newHouse(t)
	h.Config.House.ID = "" // which no house.toml said then
	// A file of the first schema, as an older pitman left it: no step after the first has run.
	path := filepath.Join(h.Dir, archive.DBFile)
	older(t, path)
	var told string
	h.Upgrading = func(backup string) { told = backup }
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close()
	now, err := db.Summary(ctx)
	require.NoError(t, err)
	if now.Schema == 1 {
		t.Skip("this pitman knows no later schema yet")
	}
	require.NotEmpty(t, told)
	assert.Equal(t, "pitman-2031-05-04T093000Z-before-schema-2.tar.gz", filepath.Base(told))
	restored, err := house.Restore(ctx, told, filepath.Join(t.TempDir(), "new"), "")
	require.NoError(t, err)
	assert.Equal(t, int64(1), restored.Machines)

	told = ""
	again, err := h.Registry()
	require.NoError(t, err)
	require.NoError(t, again.Close())
	assert.Empty(t, told, "once it is up to date, nothing is to be kept")
}

func older(t *testing.T, path string) {
	t.Helper()
	script, err := os.ReadFile("../sqlite/schema/migrations/001.sql")
	require.NoError(t, err)
	require.NoError(t, os.Remove(path))
	require.NoError(t, os.RemoveAll(filepath.Join(filepath.Dir(path), house.BackupsDir))) // which knows another
	raw, err := sql.Open("sqlite3", path)
	require.NoError(t, err)
	_, err = raw.Exec(string(script))
	require.NoError(t, err)
	_, err = raw.Exec(`INSERT INTO person VALUES ('QX', '2031-05-04T09:30:00.000Z');
		INSERT INTO action VALUES (1, '2031-05-04T09:30:00.000Z', 'QX', 'log', '', NULL);
		INSERT INTO machine (tag, maker, serial, drive, stage, year_basis, model, stitch, donor, condition, place, note, patents,
			patent_years, seen, dated_by, arrived_with, logged_at, logged_by, stage_since, maker_key, serial_key)
		VALUES ('PM16', 'A', '1', 'hand', 'logged', 'none', '', 'lockstitch', '', '', '', '', '[]', '[]', '[]', '[]', '', '', '', '', '', '');
		INSERT INTO change VALUES (1, 1, 'machine', 1, 'PM16',
			'{"tag":[null,"PM16"],"maker":[null,"A"],"serial":[null,"1"],"drive":[null,"hand"],"stage":[null,"logged"],"year_basis":[null,"none"],"stitch":[null,"lockstitch"]}');
		UPDATE counter SET value = 1; PRAGMA user_version = 1`)
	require.NoError(t, err)
	require.NoError(t, raw.Close())
}

// A file of each form that a registry ever had is opened: checks ask it before its form changes. The forms
// from before a file began to vouch for its history have no fault then; later ones were never written by
// hand.
func TestAHouseOfEachOldFormIsOpened(t *testing.T) {
	steps, err := schema.Steps()
	require.NoError(t, err)
	vouches := slices.IndexFunc(steps, func(s string) bool { return strings.HasSuffix(s, "_identity.sql") })
	require.Greater(t, vouches, 1)
	for form := 1; form < len(steps); form++ {
		// by day those that houses have by now, and the oldest of each kind
		if os.Getenv("NIGHTLY") == "" && form != 1 && form != vouches && form < len(steps)-3 {
			continue
		}
		t.Run(steps[form-1], func(t *testing.T) {
			h, _ := newHouse(t)
			h.Config.House.ID = "" // which no house.toml said then
			path := filepath.Join(h.Dir, archive.DBFile)
			older(t, path)
			raw, err := sql.Open("sqlite3", path)
			require.NoError(t, err)
			for _, step := range steps[1:form] {
				script, err := schema.Script(step)
				require.NoError(t, err)
				_, err = raw.Exec(script)
				require.NoError(t, err, step)
			}
			_, err = raw.Exec(fmt.Sprint("PRAGMA user_version = ", form))
			require.NoError(t, err)
			if form > vouches { // a first link, which says nothing
				_, err = raw.Exec("INSERT INTO link VALUES (1, 0, 0, '', '')")
				require.NoError(t, err)
			}
			require.NoError(t, raw.Close())
			db, err := h.Registry()
			require.NoError(t, err)
			defer db.Close()
			faults, err := h.Verify(ctx, db)
			require.NoError(t, err)
			if form <= vouches {
				assert.Empty(t, faults)
			}
		})
	}
}

func TestABackupIsOneMomentOfABusyHouse(t *testing.T) {
	h, _ := newHouse(t)
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close()
	w := h.Workshop(db)
	stop, stopped, logged := make(chan struct{}), make(chan error, 1), make(chan struct{})
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				stopped <- nil
				return
			case logged <- struct{}{}: // where somebody waits for it
			default:
			}
			m := stock.Machine{Maker: "Harrow & Finch", Serial: fmt.Sprint("K", 100+i), Drive: registry.Hand}
			if err := w.Log(ctx, "QX", &m, false); err != nil {
				stopped <- err
				return
			}
		}
	}()
	before := int64(0)
	for i := range 3 { // each looks through all that was logged during those before it
		for range 2 { // the first may have been logged before the last backup
			select {
			case <-logged:
			case err := <-stopped:
				require.NoError(t, err)
			}
		}
		b, err := h.Backup(ctx, db, filepath.Join(t.TempDir(), fmt.Sprint(i)))
		require.NoError(t, err)
		assert.Empty(t, b.Faults)
		assert.Greater(t, b.Machines, before, "it was busy")
		assert.Equal(t, b.Machines, b.Actions, "each machine with its history")
		before = b.Machines
	}
	close(stop)
	require.NoError(t, <-stopped)
}

// The mend that verify names for lost running numbers works: what the house gave is never given again.
func TestARestoredHouseGoesOnAboveNumbersThatWereLost(t *testing.T) {
	h, _ := newHouse(t)
	db, err := h.Registry()
	require.NoError(t, err)
	order := orders.Order{Partner: "Tallow Reach", Due: "2031-09-01"}
	require.NoError(t, h.Workshop(db).OpenOrder(ctx, "QX", &order))
	raw, err := sql.Open("sqlite3", filepath.Join(h.Dir, archive.DBFile))
	require.NoError(t, err)
	_, err = raw.Exec("DELETE FROM counter")
	require.NoError(t, err)
	require.NoError(t, raw.Close())
	backup := filepath.Join(t.TempDir(), "b.tar.gz")
	b, err := h.Backup(ctx, db, backup)
	require.NoError(t, err)
	assert.Len(t, b.Faults, 2, "the machine's and the order's number would come again")
	require.NoError(t, db.Close())

	into := filepath.Join(t.TempDir(), "new")
	restored, err := house.Restore(ctx, backup, into, "")
	require.NoError(t, err)
	assert.Empty(t, restored.Faults)
	fresh, err := house.Open(into)
	require.NoError(t, err)
	db, err = fresh.Registry()
	require.NoError(t, err)
	defer db.Close()
	next := orders.Order{Partner: "Tallow Reach", Due: order.Due}
	require.NoError(t, fresh.Workshop(db).OpenOrder(ctx, "QX", &next))
	assert.Equal(t, "ORD1", order.Number)
	assert.NotEqual(t, order.Number, next.Number)
	m := stock.Machine{Maker: "Harrow & Finch", Serial: "K2", Drive: registry.Hand}
	require.NoError(t, fresh.Workshop(db).Log(ctx, "QX", &m, false))
	_, n, _ := m.Tag.Parts()
	assert.Greater(t, n, int64(1))
}
