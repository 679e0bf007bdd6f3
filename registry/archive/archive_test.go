package archive

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/lists"
)

// FuzzReadArchive reads whatever stands in a backup once it is unzipped, without a disk or a house: it is
// read to a manifest that lists all of it, or refused in a sentence.
func FuzzReadArchive(f *testing.F) {
	dir := f.TempDir()
	for name, text := range map[string]string{ConfigFile: "[house]\nletters = \"LR\"\n", DBFile: "a registry",
		TablesDir + "/own.csv": "maker,prefix,first,last,from,to\n", lists.Folder +
			"/parts.csv": "part\nbelt\n"} {
		require.NoError(f, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700))
		require.NoError(f, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	var packed bytes.Buffer
	at := time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
	require.NoError(f, Pack(context.Background(), &packed, dir, filepath.Join(dir, DBFile),
		Manifest{Format: Format, At: at}))
	unzipped, err := gzip.NewReader(&packed)
	require.NoError(f, err)
	whole, err := io.ReadAll(unzipped)
	require.NoError(f, err)
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Add(append(bytes.Clone(whole), whole...))
	f.Add(bytes.Replace(whole, []byte(`"format": 1`), []byte(`"format": 2`), 1))
	f.Add(bytes.Replace(whole, []byte("a registry"), []byte("another one"), 1)[:len(whole)])
	f.Add(otherwise(f, tar.TypeSymlink, TablesDir+"/own.csv", ""))
	f.Add(otherwise(f, tar.TypeReg, "../own.csv", "x"))
	f.Add(otherwise(f, tar.TypeReg, manifestFile, `{"format":1,"files":[]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		files, bytesOut := 0, int64(0)
		b := &reading{shown: "b.tar.gz", room: freeOfRatio, damaged: func(err error) error {
			return registry.Errorf(registry.Invalid, "damaged (%v)", err)
		}}
		m, err := b.entries(bytes.NewReader(text), func(header *tar.Header, in io.Reader) (string, error) {
			require.True(t, Belongs(header.Name), header.Name)
			sum := sha256.New()
			n, err := io.Copy(sum, in)
			files, bytesOut = files+1, bytesOut+n
			if err != nil {
				err = b.damaged(err)
			}
			return hex.EncodeToString(sum.Sum(nil)), err
		})
		require.LessOrEqual(t, bytesOut, int64(freeOfRatio))
		if err != nil {
			require.NotEmpty(t, registry.CodeOf(err), "%v", err)
			return
		}
		require.Len(t, m.Files, files)
	})
}

// otherwise is an archive of one entry.
func otherwise(t testing.TB, kind byte, name, text string) []byte {
	t.Helper()
	var out bytes.Buffer
	w := tar.NewWriter(&out)
	header := &tar.Header{Typeflag: kind, Name: name, Size: int64(len(text)), Mode: 0o600}
	if kind == tar.TypeSymlink {
		header.Linkname = "/etc/passwd"
	}
	require.NoError(t, w.WriteHeader(header))
	_, err := io.WriteString(w, text)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return out.Bytes()
}
