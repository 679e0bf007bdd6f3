package examples_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
