package turn

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
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
