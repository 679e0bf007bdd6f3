package turn

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whoever waits behind a long import waits as long as it writes, and no longer behind one that is stuck.
func TestPatienceLastsWhileOthersGetOn(t *testing.T) {
	at := time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
	p := patience{since: at}
	written := int64(0)
	over := func(after time.Duration) bool { return p.over(at.Add(after), func() int64 { return written }) }
	for second := range 300 {
		written += 4096
		assert.False(t, over(time.Duration(second)*time.Second))
	}
	assert.False(t, over(299*time.Second+Busy))
	assert.True(t, over(299*time.Second+Busy+time.Millisecond))
}

// One holds at a time, and whoever may open the registry is told of it.
func TestOneHoldsAtATime(t *testing.T) {
	for _, mode := range []os.FileMode{0o600, 0o644} {
		path := filepath.Join(t.TempDir(), "pitman.db")
		require.NoError(t, os.WriteFile(path, nil, mode))
		release, err := Hold(path)
		require.NoError(t, err)
		info, err := os.Stat(path + "-turns")
		require.NoError(t, err)
		assert.Equal(t, mode, info.Mode().Perm())
		_, err = Hold(path)
		assert.ErrorIs(t, err, ErrHeld)
		release()
		assert.NoFileExists(t, path+"-turns")
		release, err = Hold(path)
		require.NoError(t, err)
		release()
	}
}
