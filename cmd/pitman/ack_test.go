package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/house"
)

// watcher looks into the house, as another process would, at the first byte that is printed.
type watcher struct {
	bytes.Buffer
	dir  string
	seen int64
}

func (w *watcher) Write(p []byte) (int, error) {
	if w.Len() == 0 {
		w.seen = machinesIn(w.dir)
	}
	return w.Buffer.Write(p)
}

func machinesIn(dir string) int64 {
	h, err := house.Open(dir)
	if err != nil {
		return -1
	}
	db, err := h.Registry()
	if err != nil {
		return -1
	}
	defer db.Close()
	now, err := db.Summary(context.Background())
	if err != nil {
		return -1
	}
	return now.Machines
}

func TestATagIsPrintedOnceTheMachineIsKept(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	out := &watcher{dir: dir}
	act := func(args ...string) int {
		a := &app{in: &bytes.Buffer{}, out: out, err: &bytes.Buffer{}, now: time.Now}
		return a.run(context.Background(), append([]string{"--house", dir, "--by", "QX"}, args...))
	}
	require.Zero(t, act("init"))
	for serial, format := range map[string]string{"1": "--json=false", "2": "--json"} {
		out.Reset()
		before := machinesIn(dir)
		require.Zero(t, act("log", "--maker", "A", "--serial", serial, "--drive", "hand", format))
		assert.Equal(t, before+1, out.seen, format)
	}
}

func TestALongListIsTheSameInPieces(t *testing.T) {
	for _, n := range []int{0, 1, 2, 3000} {
		list := make([]map[string]string, n)
		for i := range list {
			list[i] = map[string]string{"note": strings.Repeat("½ <key> ", i%40)}
		}
		var whole, pieces bytes.Buffer
		a := &app{out: &plainWriter{w: &whole}, json: true}
		require.NoError(t, a.print(list, nil))
		a.out = &plainWriter{w: &pieces}
		each := func(element func(any) error) error {
			for _, v := range list {
				if err := element(v); err != nil {
					return err
				}
			}
			return nil
		}
		require.NoError(t, a.printArray(each))
		assert.Equal(t, whole.String(), pieces.String(), "%d elements", n)

		type within struct {
			Rows   any      `json:"rows"`
			Faults []string `json:"faults"`
		}
		whole.Reset()
		pieces.Reset()
		require.NoError(t, a.printLong(within{[]any{}, []string{}}, "rows", each))
		a.out = &plainWriter{w: &whole}
		require.NoError(t, a.print(within{list, []string{}}, nil))
		assert.Equal(t, whole.String(), pieces.String(), "%d elements", n)
	}
}
