package house_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/archive"
	"pitman/registry/house"
)

// newConfig is the house.toml of a house that was just made.
func newConfig(t *testing.T) []byte {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	text, err := os.ReadFile(filepath.Join(dir, archive.ConfigFile))
	require.NoError(t, err)
	return text
}

// Whoever appends settings of their own to a new house.toml must not find a heading there already: TOML
// allows each once.
func TestANewConfigHasNoHeadingButHouse(t *testing.T) {
	text := newConfig(t)
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(strings.TrimSpace(line), "[") {
			require.Equal(t, "[house]\n", line)
		}
	}
	_, err := house.ParseConfig(append(text, "\n[desk]\nidle_minutes = 5\n[safety]\ncompetent = [\"QX\"]\n"...))
	require.NoError(t, err)
}

func TestAnswersStandInTheConfig(t *testing.T) {
	text := newConfig(t)
	settled, err := house.Settle(text, []string{"QX", "MB2"}, `lp -d "tags"`)
	require.NoError(t, err)
	config, err := house.ParseConfig(settled)
	require.NoError(t, err)
	require.Equal(t, []string{"QX", "MB2"}, config.Safety.Competent)
	require.Equal(t, `lp -d "tags"`, config.Desk.Print)
	same, err := house.Settle(text, nil, "")
	require.NoError(t, err)
	require.Equal(t, string(text), string(same))
}
