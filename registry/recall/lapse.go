package recall

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// verbLimits is what stands in the history of a machine whose pass fails the limits of today.
const verbLimits = "limits"

// actItself runs fn as one action that nobody did: it follows from the rules alone.
func (w *Recall) actItself(ctx context.Context, why string, fn func(stock.Tx) error) error {
	if w.Halted != nil {
		return w.Halted
	}
	return w.Store.Update(ctx, &registry.Action{At: w.Now().UTC().Truncate(time.Millisecond),
		By: registry.Itself, Verb: verbLimits, Why: why}, fn)
}

// lapse ends the pass of a machine that counts no longer: what was promised or packed leaves its order with
// the reason, and is as ready as what was not; which waits for its tests then. The machine is the caller's to
// put.
func (w *Recall) lapse(tx stock.Tx, m *stock.Machine, why string) error {
	was := *m
	m.CancelSafety()
	if m.Promised() {
		stands := &m.Stage
		if m.Stage == registry.Held {
			stands = &m.HeldFrom
		}
		*stands = registry.Ready
	}
	w.Settle(m, tx.Action().At)
	return w.LeaveOrder(tx, &was, m, why)
}
