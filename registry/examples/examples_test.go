package examples_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/examples"
	"pitman/registry/photo"
	"pitman/registry/stock"
)

func TestAPictureStandsBesideAName(t *testing.T) {
	dir := t.TempDir()
	beside := examples.In(dir, &bench.Lists{
		Points: func() ([]bench.TestPoint, error) { return []bench.TestPoint{{Point: "Tension"}}, nil },
		Jobs: func() ([]bench.BenchJob, error) {
			return []bench.BenchJob{{Job: `oil/../..\grease: "hot"`}},
				nil
		},
	}, &stock.Lists{Beds: func() ([]stock.BedPattern, error) { return nil, nil }})
	x, err := beside.Parse("Point", " TENSION ")
	require.NoError(t, err)
	_, err = beside.Parse("point", "clutch")
	require.ErrorContains(t, err, "type tension")
	require.NoError(t, beside.Put(x, &photo.Picture{Bytes: []byte("\xff\xd8 no picture")}))
	_, ok := beside.Of("point", "Tension")
	assert.True(t, ok)
	_, err = beside.Read(x.File)
	assert.ErrorContains(t, err, "no picture as the house keeps them",
		"what somebody put there by hand is not given out")

	// A name cannot lead out of the folder.
	odd, err := beside.Parse("job", `oil/../..\grease: "hot"`)
	require.NoError(t, err)
	require.NoError(t, beside.Put(odd, &photo.Picture{}))
	entries, err := os.ReadDir(filepath.Join(dir, examples.Folder))
	require.NoError(t, err)
	require.Len(t, entries, 2)
	assert.True(t, examples.IsFile(entries[0].Name()), entries[0].Name())
	for _, name := range []string{"../pitman.db", "point ../x.jpg", "point .jpg", "point x.JPG",
		"decal x.jpg", "",
		"point a/b.jpg"} {
		assert.False(t, examples.IsFile(name), name)
		_, err := beside.Read(name)
		assert.Error(t, err, name)
	}
	require.NoError(t, beside.Remove(x))
	assert.Error(t, beside.Remove(x))
}

// What a picture stands beside is one of the names of the list, and its file has a name that lies in the
// folder and is found again.
func FuzzParse(f *testing.F) {
	for _, seed := range [][3]string{{"point", "Tension", "tension"}, {"JOB", `a/../b`, ` A/../B `}, {"bed",
		"x.jpg", "x.jpg"},
		{"decal", "x", "x"}, {"point", "Größe\x00", "größe\x00"}, {"point", "", ""}, {"job", "..", ".."}} {
		f.Add(seed[0], seed[1], seed[2])
	}
	f.Fuzz(func(t *testing.T, of, listed, name string) {
		beside := examples.In(t.TempDir(), &bench.Lists{
			Points: func() ([]bench.TestPoint, error) { return []bench.TestPoint{{Point: listed}}, nil },
			Jobs:   func() ([]bench.BenchJob, error) { return []bench.BenchJob{{Job: listed}}, nil },
		}, &stock.Lists{Beds: func() ([]stock.BedPattern, error) {
			return []stock.BedPattern{{Bed: listed}},
				nil
		}})
		x, err := beside.Parse(of, name)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err), err)
			return
		}
		require.Contains(t, examples.Kinds, x.Of)
		require.True(t, strings.EqualFold(strings.TrimSpace(name), strings.TrimSpace(listed)), "%q %q", name,
			listed)
		require.Equal(t, filepath.Base(x.File), x.File)
		again, err := beside.Parse(x.Of, x.Name)
		require.NoError(t, err)
		require.Equal(t, x, again)
		if !examples.IsFile(x.File) {
			require.True(t, x.Name == "" || len(x.File) > 255, "%q", x.File)
			return
		}
		require.NoError(t, beside.Put(x, &photo.Picture{}))
		_, ok := beside.Of(x.Of, x.Name)
		require.True(t, ok)
	})
}
