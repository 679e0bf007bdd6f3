package house_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
)

// A house.toml gives either settings that pass their own check, or one sentence.
func FuzzParseConfig(f *testing.F) {
	template, err := os.ReadFile("house.toml.tmpl")
	require.NoError(f, err)
	f.Add(strings.NewReplacer("{{quote .Name}}", `"A"`, "{{quote .Letters}}", `"A"`, "{{quote .Zone}}",
		`"UTC"`, "# ", "").Replace(string(template)))
	for _, seed := range []string{"", "[house]\nletters = \"PM\"\n", "[house]\nletters = 7",
		"[backup]\nkeep = -1", "[backup]\nkeep = 1e9", "[house", "\x00",
		"\xff", "[house]\nname = \"\\u001b[2J\"", "[house]\nzone = \"../../etc/passwd\"", "a.b.c.d = 1",
		"[[house]]\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		config, err := house.ParseConfig([]byte(text))
		if err != nil {
			assert.Equal(t, registry.Invalid, registry.CodeOf(err), "%v", err)
			assert.True(t, strings.HasPrefix(err.Error(), archive.ConfigFile), "%v", err)
			return
		}
		assert.NoError(t, config.Validate())
		assert.NotNil(t, config.Location())
	})
}

// Whatever is called a backup, restoring it gives a house without fault or leaves nothing behind.
func FuzzRestore(f *testing.F) {
	dir := f.TempDir()
	_, err := house.Init(filepath.Join(dir, "house"), house.Defaults().House)
	require.NoError(f, err)
	h, err := house.Open(filepath.Join(dir, "house"))
	require.NoError(f, err)
	db, err := h.Registry()
	require.NoError(f, err)
	_, err = h.Backup(ctx, db, filepath.Join(dir, "b.tar.gz"))
	require.NoError(f, err)
	require.NoError(f, db.Close())
	whole, err := os.ReadFile(filepath.Join(dir, "b.tar.gz"))
	require.NoError(f, err)
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Add([]byte{})
	f.Add([]byte("\x1f\x8b\x08\x00"))
	f.Fuzz(func(t *testing.T, text []byte) {
		into := t.TempDir()
		file := filepath.Join(into, "b.tar.gz")
		require.NoError(t, os.WriteFile(file, text, 0o600))
		restored, err := house.Restore(ctx, file, filepath.Join(into, "new"), "")
		entries, listErr := os.ReadDir(into)
		require.NoError(t, listErr)
		if err != nil {
			assert.Len(t, entries, 1, "left behind after: %v", err)
			return
		}
		assert.Len(t, entries, 2)
		assert.Empty(t, restored.Faults)
	})
}

// A name in house.toml reaches screens and labels, so it is plain text on one line.
func TestANameIsPlainText(t *testing.T) {
	_, err := house.ParseConfig([]byte("[house]\nname = \"a\\u001b[2J\""))
	assert.ErrorContains(t, err,
		`house.toml: name in [house] "a\x1b[2J" holds a control character: type plain text on one line`)
}
