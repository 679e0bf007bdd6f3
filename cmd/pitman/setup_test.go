package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/adrg/xdg"
	"github.com/stretchr/testify/require"
)

// An icon opens the desk or the pages of the house that it was made for, whatever its folder is called.
func TestIcons(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("icons of Linux desktops")
	}
	t.Setenv("DISPLAY", "")
	t.Setenv("WAYLAND_DISPLAY", "")
	require.Empty(t, iconsFor("house"), "there is no desktop")
	t.Setenv("DISPLAY", ":0")
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	xdg.Reload()
	t.Cleanup(xdg.Reload)
	odd := filepath.Join(t.TempDir(), `the "50%" house $HOME`)
	icons := iconsFor(odd)
	require.Len(t, icons, 2)
	for which, does := range map[string]string{"d": `" desk`, "p": `" serve --browse`} {
		require.NoError(t, icons[which].write())
		text, err := os.ReadFile(icons[which].path)
		require.NoError(t, err)
		require.Contains(t, string(text), does+"\n")
		require.NotContains(t, strings.ReplaceAll(string(text), "%%", ""), "%",
			"a field code of the specification")
		if check, err := exec.LookPath("desktop-file-validate"); err == nil {
			said, err := exec.Command(check, icons[which].path).CombinedOutput()
			require.NoError(t, err, string(said))
		}
	}
	require.NotEqual(t, icons["d"].path, icons["p"].path)
	batch := batchIcon("Sewing page", "", `C:\pit man\pitman.exe`, `C:\50% house`, "serve --browse")
	require.Contains(t, batch.text, `"C:\pit man\pitman.exe" --house "C:\50%% house" serve --browse`)
	require.NotContains(t, strings.ReplaceAll(batch.text, "\r\n", ""), "\n")
}

// Each system opens a browser by a command of its own, which gets the address whole.
func TestBrowserCommand(t *testing.T) {
	for _, system := range []string{"linux", "windows", "darwin", "freebsd"} {
		words := browserCommand(system, "http://127.0.0.1:8421/welcome#ABCD")
		require.Equal(t, "http://127.0.0.1:8421/welcome#ABCD", words[len(words)-1])
	}
}
