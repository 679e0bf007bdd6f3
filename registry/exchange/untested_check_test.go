package exchange_test

import (
	"fmt"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

// check holds every machine of every house against what is known of it.
func (w *walk) check() {
	for in, h := range w.houses {
		for tag, k := range w.known {
			m, err := h.Machine(ctx, tag)
			if err != nil {
				continue
			}
			key := in + string(tag)
			was := w.stood[key]
			w.stood[key] = m.Stage
			if !k.mains[in] || m.HandedTo != "" {
				continue
			}
			if m.Stage == registry.Sold && m.SoldAs == stock.UntestedSale {
				w.holds(k.cutOff[in] && m.MainsParts().Of("plug", true) == mains.Off,
					string(tag)+" is sold untested with its plug")
				continue
			}
			stands, said := w.stands(in, k), fmt.Sprintf("%s of %s, %s, before it %s", tag, in, m.Stage, was)
			deliverable := []registry.Stage{registry.Ready, registry.Reserved, registry.Packed,
				registry.Shipped,
				registry.Sold}
			if m.Stage != was && slices.Contains(deliverable, m.Stage) &&
				!(m.Stage == registry.Reserved && was == registry.Packed) &&
				!(was == "" && m.HandedTo == "" && !m.Here()) { // it left from the other house
				w.holds(stands, "came there without a pass that stands: "+said)
			}
			_, made := k.pass[in]
			if slices.Contains([]registry.Stage{registry.Ready, registry.Packed}, m.Stage) {
				w.holds(made, "stands there without a pass: "+said)
			}
			if m.Stage == registry.Held && m.HeldFrom == registry.Ready && m.UnsafeWhy == "" {
				w.holds(made, "goes back to ready without a pass: "+said)
			}
			offered, err := h.AllowedMoves(ctx, "EL", m)
			require.NoError(w, err)
			for _, o := range offered {
				if slices.Contains([]string{registry.DoReserve, registry.DoPack, registry.DoShip,
					registry.DoSell},
					o.Action) && o.Allowed {
					w.holds(stands, o.Action+" is offered without a pass that stands: "+said)
				}
			}
			if !m.SafetyAt.IsZero() {
				w.holds(made, "claims a pass: "+said)
			}
		}
	}
}

// holds ends the walk where something is not so, with what led there.
func (w *walk) holds(so bool, otherwise string) {
	w.Helper()
	if !so {
		require.Fail(w, otherwise, strings.Join(w.did[max(0, len(w.did)-40):], "\n"))
	}
}
