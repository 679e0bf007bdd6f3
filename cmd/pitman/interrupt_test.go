package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pressed is a context that ends once it was asked so often, as if somebody pressed Ctrl-C at that moment of
// the work.
type pressed struct {
	context.Context
	stop context.CancelFunc
	left atomic.Int64
}

func pressAfter(asked int64) *pressed {
	ctx, stop := context.WithCancel(context.Background())
	p := &pressed{Context: ctx, stop: stop}
	p.left.Store(asked)
	return p
}

func (p *pressed) Err() error {
	if p.left.Add(-1) < 0 {
		p.stop()
	}
	return p.Context.Err()
}

func TestLongWorkCanBeInterrupted(t *testing.T) {
	dir := t.TempDir()
	do := func(ctx context.Context, args ...string) (status int, stdout, stderr string) {
		var out, errs bytes.Buffer
		a := &app{in: strings.NewReader(""), out: &out, err: &errs, now: time.Now}
		status = a.run(ctx, append([]string{"--house", filepath.Join(dir, "house"), "--by", "QX"}, args...))
		return status, out.String(), errs.String()
	}
	free := context.Background()
	status, _, _ := do(free, "init")
	require.Zero(t, status)
	var text strings.Builder
	text.WriteString("maker,serial,drive\n")
	for i := range 3000 {
		fmt.Fprintf(&text, "Harrow,K%d,hand\n", i+1)
	}
	list := filepath.Join(dir, "list.csv")
	require.NoError(t, os.WriteFile(list, []byte(text.String()), 0o600))

	interrupted := func(asked int64, args ...string) {
		t.Helper()
		status, stdout, stderr := do(pressAfter(asked), args...)
		assert.Equal(t, exitFailed, status)
		assert.Empty(t, stdout)
		assert.Equal(t, "pitman: interrupted: nothing was changed\n", stderr)
	}
	interrupted(500, "import", list)
	_, stdout, _ := do(free, "list", "--json")
	assert.Equal(t, "[]\n", stdout)

	status, _, stderr := do(free, "import", list)
	require.Zero(t, status)
	assert.NotContains(t, stderr, "%", "no progress is told where there is no terminal")
	interrupted(1000, "export", "machines", "-o", filepath.Join(dir, "m.csv"))
	interrupted(1000, "bundle", "out", filepath.Join(dir, "m.bundle"))
	interrupted(1000, "redate", "--apply")
	left, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{filepath.Join(dir, "house"), list}, left, "no half file stays")
	_, stdout, _ = do(free, "list", "--limit", "1", "--json")
	assert.Contains(t, stdout, `"handed_to": ""`)
}

func TestAQuestionCanBeInterrupted(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	asked := func() *app { // the input of an interrupted program is read no more
		never, _ := io.Pipe()
		return &app{in: never, out: io.Discard, err: io.Discard, ctx: ctx}
	}
	time.AfterFunc(20*time.Millisecond, stop)
	_, err := asked().asker().line("Maker?")
	assert.ErrorIs(t, err, context.Canceled)
	_, err = asked().scanTags(nil, "what goes to bay 2")
	assert.ErrorIs(t, err, context.Canceled)
}
