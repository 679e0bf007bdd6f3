package lists_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/lists"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

func TestDefaultsAreRight(t *testing.T) {
	empty := t.TempDir()
	jobs, err := lists.Load[bench.BenchJob](empty, "jobs.csv")
	require.NoError(t, err)
	points, err := lists.Load[bench.TestPoint](empty, "points.csv")
	require.NoError(t, err)
	parts, err := lists.Load[spares.PartKind](empty, "parts.csv")
	require.NoError(t, err)
	reasons, err := lists.Load[stock.Reason](empty, "reasons.csv")
	require.NoError(t, err)

	cautions := map[registry.Caution]bool{}
	for _, j := range jobs {
		for _, c := range j.Caution.Each() {
			cautions[c] = true
		}
		assert.False(t, bool(j.Electrical) && !slices.Contains(j.Caution.Each(), registry.CautionMains),
			"%s is electrical work without the mains caution", j.Job)
	}
	for _, c := range []registry.Caution{registry.CautionRags, registry.CautionSolvent,
		registry.CautionNeedle, registry.CautionLifting, registry.CautionMains, registry.CautionDrying,
		registry.CautionFibre} {
		assert.True(t, cautions[c], "no job shows %s", c)
	}
	for _, drive := range registry.Drives {
		measured := 0
		for _, p := range points {
			if p.Drives.Has(drive) && p.Measured == bench.MeasuredStitch {
				measured++
			}
		}
		assert.Equal(t, 1, measured, "stitch length is measured once on %s machines", drive)
	}
	counted := 0
	for _, p := range parts {
		if p.Counted {
			counted++
		}
		if p.Part == "handwheel" {
			assert.Equal(t, 1400*measure.Mass(1), p.Weight)
		}
	}
	assert.True(t, counted > 0 && counted < len(parts))
	ways := map[string]bool{}
	for _, r := range reasons {
		ways[r.Way] = true
	}
	assert.Len(t, ways, 5)
}

func TestHouseFileWins(t *testing.T) {
	house := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(house, lists.Folder), 0o700))
	file := filepath.Join(house, lists.Folder, "jobs.csv")
	// A spreadsheet's own way: byte-order mark, CRLF, quoted cells, an empty row at the end, capitals in the
	// header.
	require.NoError(t,
		os.WriteFile(file,
			[]byte("\ufeff# our jobs\r\nJob,What,Caution,Electrical\r\n\"dust\",\"Dust, "+
				"\"\"softly\"\"\",,\r\n,,,\r\n"), 0o600))
	jobs, err := lists.Load[bench.BenchJob](house, "jobs.csv")
	require.NoError(t, err)
	require.Len(t, jobs, 1)
	assert.Equal(t, `Dust, "softly"`, jobs[0].What)
	assert.True(t, jobs[0].Drives.Has("treadle"), "a column left out is empty, and an empty drive is any")

	jobs, err = lists.Read[bench.BenchJob]("jobs.csv",
		strings.NewReader("job , what,electrical\n dust\t,Dust\tsoftly ,no\n"))
	require.NoError(t, err)
	require.Len(t, jobs, 1)
	assert.Equal(t, []string{"dust", "Dust\tsoftly"}, []string{jobs[0].Job, jobs[0].What},
		"blanks round a cell are none of it")

	require.NoError(t, os.WriteFile(file, []byte("job,what,electrical\n-,,no\n"), 0o600))
	_, err = lists.Load[bench.BenchJob](house, "jobs.csv")
	assert.ErrorContains(t, err, "lists/jobs.csv:2: what is empty")
}

// Another country's spreadsheet saves the same list with semicolons, in its own encoding, and a comment as a
// row.
func TestAListMayBeSavedAnyWay(t *testing.T) {
	want, err := lists.Read[bench.BenchJob]("jobs.csv",
		strings.NewReader("job,what,electrical\nglue,\"Glue, häute\",no\n"))
	require.NoError(t, err)
	for _, text := range []string{
		"job;what;electrical\nglue;Glue, h\xe4ute;no\n",
		"# ours, all;;\n\"# x; y\";;\njob;what;electrical\nglue;Glue, häute;no\n",
		"\xef\xbb\xbfjob\twhat\telectrical\r\n\"glue\"\t\"Glue, häute\"\tno\r\n",
	} {
		got, err := lists.Read[bench.BenchJob]("jobs.csv", strings.NewReader(text))
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, got, "%q", text)
	}
}

func TestWhatCannotBeOpened(t *testing.T) {
	house := t.TempDir()
	_, err := lists.Load[bench.BenchJob](house, "tunes.csv")
	assert.ErrorContains(t, err, "open list tunes.csv")
	require.NoError(t, os.MkdirAll(filepath.Join(house, lists.Folder, "jobs.csv"), 0o700))
	_, err = lists.Load[bench.BenchJob](house, "jobs.csv")
	assert.ErrorContains(t, err, "read list lists/jobs.csv")
}

func TestEveryFaultIsNamed(t *testing.T) {
	_, err := lists.Read[bench.BenchJob]("jobs.csv", strings.NewReader(`# comment
job,what,drive,caution,electrical
clean,Clean,any,,no
Clean it,Clean,any,,no
oil,,any,,no
steam,Steam,steam,,no
fly,Fly,any,wings,no
belt,Belt
clean,Again,any,,no
volt,Volt,any,,perhaps
`))
	require.Error(t, err)
	assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	assert.Equal(t, []string{
		`jobs.csv:4: job "Clean it" is not one short word: type small letters, digits and hyphens such as needle-bar`,
		`jobs.csv:5: what is empty for job "oil": type what is done`,
		`jobs.csv:6: column drive: drive "steam" is not known: type any, or one or more of hand, treadle or electric`,
		`jobs.csv:7: caution "wings" is not known: leave it empty or type one of drying-oil, lifting, mains, moving-parts, needle, oily-rags, old-finish, old-insulation, solvent`,
		`jobs.csv:8: the header has 5 cells and this row 2: put cells with a comma in quotation marks`,
		`jobs.csv:9: "clean" stands in line 3 already: delete one of them`,
		`jobs.csv:10: column electrical: "perhaps" is neither yes nor no: type yes or no`,
	}, strings.Split(err.Error(), "\n"))
}

func TestFaultsOfWholeFiles(t *testing.T) {
	for text, says := range map[string]string{
		"":                      "list.csv:1: is empty: the first line names the columns job,what,drive,caution,electrical",
		"# nothing\n":           "is empty",
		"job|what\nclean|Clean": `column "electrical" is missing`,
		"job+what\nclean+Clean": `column "job+what" is not known`,
		"job;electrical\na;no;b": "list.csv:2: the header has 2 cells and this row 3: put cells with a " +
			"semicolon in quotation marks",
		"PK\x03\x04\x00":                     "list.csv:1: the file is not plain text",
		"job,colour\na,b":                    `column "colour" is not known`,
		"job,job\na,b":                       `column "job" stands twice`,
		"what\nClean":                        `column "job" is missing`,
		"job,what\nclean,Clean":              `column "electrical" is missing`,
		"job,electrical\nclean,\"Cle":        "quotation mark out of place",
		"job,electrical\ncl\"ean,Cle\na,b,c": "list.csv:2: has a quotation mark out of place",
		"\"job,what\nclean,Cle":              "list.csv:1: has a quotation mark out of place",
		"job,what\nclean,\x7f":               "list.csv:2: has the control character",
		"job,what\n\x01clean,C":              "list.csv:2: has the control character",
		"job,what\nclé,\xff":                 "list.csv:2: has a letter that cannot be read",
		"job,what\nclean,\x1b[2":             "list.csv:2: has the control character",
	} {
		_, err := lists.Read[bench.BenchJob]("list.csv", strings.NewReader(text))
		assert.ErrorContains(t, err, says, "%q", text)
		assert.NotContains(t, err.Error(), "\n", "%q: one sentence says it", text)
	}
	_, err := lists.Read[bench.BenchJob]("list.csv",
		strings.NewReader("job,what\n"+strings.Repeat("#\n", lists.Largest/2+1)))
	assert.ErrorContains(t, err, "list.csv:1: is larger than 8 MB")
	assert.NotContains(t, err.Error(), "\n")
	_, err = lists.Read[bench.BenchJob]("list.csv",
		strings.NewReader("job,what,electrical\n"+strings.Repeat("A,b,no\n", 200)))
	assert.ErrorContains(t, err, "and 150 more")
	for rows, more := range map[int]bool{50: false, 51: true} {
		_, err = lists.Read[bench.BenchJob]("list.csv",
			strings.NewReader("job,what,electrical\n"+strings.Repeat("A,b,no\n", rows)))
		assert.Equal(t, more, strings.Contains(err.Error(), " more"), "%d faults: %v", rows, err)
	}
	_, err = lists.Read[spares.PartKind]("parts.csv",
		strings.NewReader("part,what,electrical,weight\na,b,no,-1\n"))
	assert.ErrorContains(t, err, `parts.csv:2: column weight: weight "-1" is negative`)
	_, err = lists.Read[orders.PurchasePrice]("purchase.csv",
		strings.NewReader("kind,currency,price\nhand,EUR,cheap\n"))
	assert.ErrorContains(t, err,
		"purchase.csv:2: column price has a value that is not a number it can hold: type it in figures, "+
			"such as 12")
}

func FuzzRead(f *testing.F) {
	require.NoError(f, fs.WalkDir(lists.Defaults(), ".",
		func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			text, err := fs.ReadFile(lists.Defaults(), path)
			f.Add(text)
			return err
		}))
	f.Add([]byte("\ufeffpart,what,weight\r\na,\"b\",1 lb\r\n"))
	f.Add([]byte("part,what\na,\"b"))
	f.Fuzz(func(t *testing.T, text []byte) {
		rows, err := lists.Read[spares.PartKind]("f.csv", strings.NewReader(string(text)))
		if err != nil {
			require.Empty(t, rows)
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			require.Contains(t, err.Error(), "f.csv:")
			return
		}
		seen := map[string]bool{}
		for _, row := range rows {
			require.NoError(t, row.Check())
			require.False(t, seen[row.Key()])
			seen[row.Key()] = true
		}
	})
}
