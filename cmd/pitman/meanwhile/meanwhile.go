// Package meanwhile holds what commands do beside other work: they wait for an answer that may never come,
// make things ahead of whoever takes them, and tell how far long work has come. It knows nothing of the
// workshop.
package meanwhile

import (
	"context"
	"iter"
	"runtime"
	"time"
)

type made[T any] struct {
	v   T
	err error
}

// Answer is what read returns, or why ctx ended before it did. A read that nobody waits for any more goes on
// until its input ends.
func Answer[T any](ctx context.Context, read func() (T, error)) (T, error) {
	answered := make(chan made[T], 1)
	go func() {
		v, err := read()
		answered <- made[T]{v, err}
	}()
	select {
	case a := <-answered:
		return a.v, a.err
	case <-ctx.Done():
		var none T
		return none, ctx.Err()
	}
}

// Sleep waits, unless ctx ends before.
func Sleep(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// InOrder makes n things on all processors and gives them out in their order, few of them at a time.
func InOrder[T any](n int, produce func(i int) (T, error)) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		ahead := make(chan chan made[T], runtime.GOMAXPROCS(0))
		stop := make(chan struct{})
		defer close(stop)
		go func() {
			defer close(ahead)
			for i := range n {
				one := make(chan made[T], 1)
				select {
				case ahead <- one:
				case <-stop:
					return
				}
				go func() {
					v, err := produce(i)
					one <- made[T]{v, err}
				}()
			}
		}()
		for one := range ahead {
			if m := <-one; !yield(m.v, m.err) {
				return
			}
		}
	}
}
