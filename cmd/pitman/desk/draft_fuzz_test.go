package desk

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/stock"
)

// A draft may hold anything once somebody edited it: what is read is written back the same, and makes a
// machine of which each field is one that could be typed.
func FuzzDraft(f *testing.F) {
	for _, seed := range []string{`{"fields":{"maker":["Ostermann"],"serial":["B1"]},"at":"drive","typing":"h"}`,
		`{"fields":{"patent":["1","x"],"weight":["-5"],"nobody":["x"]},"at":"nobody","typing":"x"}`,
		`{"fields":null}`,
		`{"fields":{"maker":[]}}`, `{"fields":{"maker":null,"drive":["","hand"]}}`, `[]`, "", "null"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		d := drafts{dir: t.TempDir()}
		require.NoError(t, os.Mkdir(filepath.Join(d.dir, draftsFolder), 0o700))
		require.NoError(t, os.WriteFile(d.path("QX"), text, 0o600))
		dr, ok := d.read("QX")
		if !ok {
			require.Equal(t, draft{}, dr)
			return
		}
		m := dr.machine()
		for _, field := range stock.MachineFields {
			if values := field.Get(&m); strings.Join(values, "") != "" {
				var again stock.Machine
				require.NoError(t, field.Set(&again, values), field.Name)
				require.Equal(t, values, field.Get(&again), field.Name)
			}
		}
		require.NoError(t, d.write("QX", dr))
		again, ok := d.read("QX")
		require.True(t, ok)
		require.Equal(t, dr, again)
	})
}
