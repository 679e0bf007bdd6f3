// Package behind does one thing after the other while whoever hands them over goes on.
package behind

import "sync/atomic"

// Queue is what is still to be done, in the order in which it came. One goroutine may hand things over.
type Queue struct {
	work   chan batch
	ended  chan struct{}
	failed atomic.Pointer[error] // what failed first; nothing is done after it
	held   []func() error        // what is not handed over yet
	owed   bool                  // something may be waiting in the queue
}

// batch is what is handed over at once, and who is told when it is done.
type batch struct {
	list []func() error
	told chan<- struct{}
}

const (
	// handful is handed over at once: to wake the other side takes longer than to do one thing.
	handful = 64
	// maxQueued is so many handfuls that neither side waits for the other at each.
	maxQueued = 16
)

// New is an empty queue, which has to be ended.
func New() *Queue {
	q := &Queue{work: make(chan batch, maxQueued), ended: make(chan struct{})}
	go func() {
		defer close(q.ended)
		for b := range q.work {
			for _, do := range b.list {
				if q.failed.Load() != nil {
					break
				}
				if err := do(); err != nil {
					q.failed.Store(&err)
				}
			}
			if b.told != nil {
				close(b.told)
			}
		}
	}()
	return q
}

// Do hands over what is to be done after all that was handed over before. It returns what failed of that.
func (q *Queue) Do(fn func() error) error {
	q.owed = true
	if q.held = append(q.held, fn); len(q.held) == handful {
		q.handOver(nil)
	}
	return q.fault()
}

func (q *Queue) handOver(told chan<- struct{}) {
	q.work <- batch{q.held, told}
	q.held = make([]func() error, 0, handful)
}

// Settle waits until all is done that was handed over.
func (q *Queue) Settle() error {
	if q.owed {
		done := make(chan struct{})
		q.handOver(done)
		<-done
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
	q.handOver(nil)
	close(q.work)
	<-q.ended
}
