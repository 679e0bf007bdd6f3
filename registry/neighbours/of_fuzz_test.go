package neighbours_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/neighbours"
)

// The file of a neighbour may hold anything: what is read is of that house and of the form that is known, and
// reads back the same once it is kept; all else is refused with what to do.
func FuzzOf(f *testing.F) {
	for _, seed := range []string{`{"format":1,"letters":"NQ","name":"Nether Quoin","heads":[{"tag":"NQ16"}],"bases":[{}]}`,
		`{"format":1,"letters":"LR"}`, `{"format":2,"letters":"NQ"}`,
		`{"format":1,"letters":"NQ","as_of":"9999-12-31T23:59:59Z"}`,
		`{"heads":7}`, `{"format":1,"letters":"NQ","heads":[null]}`, "", "{"} {
		f.Add([]byte(seed), true)
		f.Add([]byte(seed), false)
	}
	f.Fuzz(func(t *testing.T, text []byte, packed bool) {
		dir := t.TempDir()
		if packed {
			var b bytes.Buffer
			zip := gzip.NewWriter(&b)
			_, err := zip.Write(text)
			require.NoError(t, err)
			require.NoError(t, zip.Close())
			text = b.Bytes()
		}
		require.NoError(t, os.Mkdir(filepath.Join(dir, neighbours.Folder), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(dir, neighbours.Folder, "NQ.json.gz"), text, 0o600))
		h, err := neighbours.Of(dir, "NQ")
		if err != nil {
			require.Equal(t, registry.Conflict, registry.CodeOf(err), err)
			return
		}
		require.Equal(t, "NQ", h.Letters)
		told, err := json.Marshal(h)
		require.NoError(t, err)
		require.NoError(t, h.Keep(dir))
		again, err := neighbours.Of(dir, "NQ")
		require.NoError(t, err)
		same, err := json.Marshal(again)
		require.NoError(t, err)
		require.JSONEq(t, string(told), string(same))
	})
}
