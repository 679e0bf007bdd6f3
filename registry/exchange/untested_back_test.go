package exchange_test

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/registry/undo"
	"pitman/serials"
)

// backUp keeps a house as it is.
func (w *walk) backUp(in string, h *house.Workshop) {
	k := &keptHouse{filepath.Join(w.TempDir(), "kept.db"), w.latest[in], map[registry.Tag]truth{}}
	require.NoError(w, h.Store.(*sqlite.DB).CopyTo(ctx, k.path))
	for tag, t := range w.known {
		was := *t
		was.mains, was.pass, was.cutOff = maps.Clone(t.mains), maps.Clone(t.pass), maps.Clone(t.cutOff)
		was.paused = maps.Clone(t.paused)
		k.known[tag] = was
	}
	w.kept[in] = k
}

// restore goes on from the last backup of a house, above the numbers that it gave since. What left stays
// away, and the other house knows of it what it knows.
func (w *walk) restore(in string, h *house.Workshop) error {
	k := w.kept[in]
	if k == nil {
		return registry.Errorf(registry.NotFound, "there is no backup")
	}
	delete(w.kept, in)
	db, err := sqlite.Open(k.path)
	require.NoError(w, err)
	w.Cleanup(func() { require.NoError(w, db.Close()) })
	require.NoError(w, db.Branch(ctx, w.now))
	restored := house.NewWorkshop(db, h.Config, h.Lists,
		func() (*serials.Tables, error) { return serials.LoadFS(serials.Starters()) },
		func() time.Time { return w.now })
	w.houses[in], w.latest[in] = restored, k.latest
	require.NoError(w, restored.Act(ctx, "QX", "restore", "", func(tx stock.Tx) error {
		return tx.NumberGiven(int64(1000 + len(w.did)))
	}))
	for tag, t := range w.known {
		delete(w.stood, in+string(tag))
		if m, err := restored.Machine(ctx, tag); err == nil {
			w.stood[in+string(tag)] = m.Stage
		}
		was, then := k.known[tag]
		delete(t.pass, in)
		if at, made := was.pass[in]; made {
			t.pass[in] = at
		}
		delete(t.paused, in)
		if at, made := was.paused[in]; made {
			t.paused[in] = at
		}
		if then {
			t.mains[in], t.visit, t.touched, t.cutOff[in] = was.mains[in], was.visit, was.touched,
				was.cutOff[in]
		}
	}
	return nil
}

// undone takes something back. A pass that is taken back stands no more; what ended a pass and is taken back
// brings it back only where it was the beginning of a visit, taken back by its beginner within minutes.
func (w *walk) undone(in string, by registry.Initials, undo func() (*undo.Undone, error)) (lost bool,
	err error) {
	u, err := undo()
	if err != nil {
		return false, err
	}
	soon := u.By == by && w.now.Sub(u.At) <= 10*time.Minute
	for _, subject := range u.Subjects {
		k := w.known[registry.Tag(subject)]
		if k == nil {
			continue
		}
		switch u.Action {
		case "safety":
			k.voided(in)
		case "safety look":
			at := k.pass[in]
			k.voided(in)
			k.paused[in] = at
		case "bundle out":
			if !soon {
				delete(k.pass, in)
			}
		case "bench start":
			if v := k.visit; v != nil && v.at.Equal(u.At.UTC()) && v.by == by && soon {
				if !v.pass.IsZero() {
					k.voided(in)
					k.pass[in] = v.pass
				}
			}
		}
		k.visit = nil
		lost = lost || soon &&
			slices.Contains([]string{"convert", "amend", "mains", "import", "log"}, u.Action)
	}
	return lost, nil
}

// handOver carries a machine to the other house, where no pass of this one counts.
func (w *walk) handOver(in, other string, tag registry.Tag) error {
	var file strings.Builder
	h := w.houses[in]
	b, err := exchange.NewBundle(&file, exchange.Head{House: in, Letters: in, To: other, At: w.now})
	require.NoError(w, err)
	if _, err := h.HandOver(ctx, "QX", exchange.HandOverOptions{To: other, Tags: []registry.Tag{tag}},
		b.Add); err != nil {
		return err
	}
	require.NoError(w, b.Close())
	if w.dice.IntN(8) > 0 {
		var arrived []exchange.Arrival
		arrived, err = receive(w.houses[other], []byte(file.String()))
		if err == nil &&
			slices.Contains([]string{exchange.ArrivalNew, exchange.ArrivalContinued}, arrived[0].Does) {
			k := w.known[tag]
			delete(k.pass, other)
			delete(k.paused, other)
			m, err := w.houses[other].Machine(ctx, tag)
			require.NoError(w, err)
			w.holds(!k.mains[other] && !k.mains[in] || m.TakesMains() || m.Stage == registry.Shipped,
				string(tag)+" takes the mains no longer by the word of a bundle")
			k.visit, k.mains[other], k.cutOff[other] = nil, m.TakesMains(), k.cutOff[in]
			delete(w.stood, other+string(tag)) // it comes in anew, and may have left from there meanwhile
		}
		w.latest[other] = w.now
		w.did = append(w.did, fmt.Sprintf("   %s takes it in: %v", other, err))
		if err != nil && registry.CodeOf(err) == "" {
			return err
		}
	}
	return nil
}
