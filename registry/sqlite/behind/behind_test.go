package behind_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/sqlite/behind"
)

func TestThingsAreDoneInOrderUntilOneFails(t *testing.T) {
	q := behind.New()
	var done []int
	do := func(n int, err error) error { return q.Do(func() error { done = append(done, n); return err }) }
	for n := range 5000 {
		require.NoError(t, do(n, nil))
	}
	require.NoError(t, q.Settle())
	require.Len(t, done, 5000)
	require.IsIncreasing(t, done)

	broken := errors.New("the disk is full")
	_ = do(5000, broken) // whether it is known at once depends on who is faster
	_ = do(5001, nil)
	require.ErrorIs(t, q.Settle(), broken)
	require.ErrorIs(t, do(5002, nil), broken)
	q.End()
	require.Len(t, done, 5001, "nothing is done after what failed")
}
