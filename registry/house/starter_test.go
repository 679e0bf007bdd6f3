package house

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Whoever appends settings of their own to a new house.toml must not find a heading there already: TOML
// allows each once.
func TestANewConfigHasNoHeadingButHouse(t *testing.T) {
	text, err := starterConfig(Defaults().House)
	require.NoError(t, err)
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(strings.TrimSpace(line), "[") {
			require.Equal(t, "[house]\n", line)
		}
	}
	_, err = ParseConfig(append(text, "\n[desk]\nidle_minutes = 5\n[safety]\ncompetent = [\"QX\"]\n"...))
	require.NoError(t, err)
}

func TestAnswersStandInTheConfig(t *testing.T) {
	text, err := starterConfig(Defaults().House)
	require.NoError(t, err)
	settled, err := Settle(text, []string{"QX", "MB2"}, `lp -d "tags"`)
	require.NoError(t, err)
	config, err := ParseConfig(settled)
	require.NoError(t, err)
	require.Equal(t, []string{"QX", "MB2"}, config.Safety.Competent)
	require.Equal(t, `lp -d "tags"`, config.Desk.Print)
	same, err := Settle(text, nil, "")
	require.NoError(t, err)
	require.Equal(t, string(text), string(same))
}
