// Package behind does one thing after the other while whoever hands them over goes on.
package behind

import "sync/atomic"

// Queue is what is still to be done, in the order in which it came. One goroutine may hand things over.
type Queue struct {
	work   chan func()
	ended  chan struct{}
	failed atomic.Pointer[error] // what failed first; nothing is done after it
	owed   bool                  // something may be waiting in the queue
}

// maxQueued is so many that neither side waits for the other at each.
const maxQueued = 1024

// New is an empty queue, which has to be ended.
func New() *Queue {
	q := &Queue{work: make(chan func(), maxQueued), ended: make(chan struct{})}
	go func() {
		defer close(q.ended)
		for do := range q.work {
			do()
		}
	}()
	return q
}

// Do hands over what is to be done after all that was handed over before. It returns what failed of that.
func (q *Queue) Do(fn func() error) error {
	q.owed = true
	q.work <- func() {
		if q.failed.Load() != nil {
			return
		}
		if err := fn(); err != nil {
			q.failed.Store(&err)
		}
	}
	return q.fault()
}

// Settle waits until all is done that was handed over.
func (q *Queue) Settle() error {
	if q.owed {
		reached := make(chan struct{})
		q.work <- func() { close(reached) }
		<-reached
		q.owed = false
	}
	return q.fault()
}

func (q *Queue) fault() error {
	if err := q.failed.Load(); err != nil {
		return *err
	}
	return nil
}

// End waits for what was handed over, and ends the queue.
func (q *Queue) End() {
	close(q.work)
	<-q.ended
}
