package planning_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/measure"
	"pitman/registry/neighbours"
	"pitman/registry/orders"
	"pitman/registry/planning"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// With random stock here and in two other houses: as many places are filled as if all of it stood here, only
// what stands here is reserved, and each piece that is to be driven is needed. The count is held against a
// house that has all of the pieces itself.
func TestRoundsBringWhatPlacesNeed(t *testing.T) {
	dice := rand.New(rand.NewPCG(14, 3))
	rounds := 0
	for n := range 4 {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			w, one := registrytest.OrderWorkshop(t), registrytest.OrderWorkshop(t)
			dir := t.TempDir()
			w.Neighbours.Dir = dir
			pins := []measure.Length{241 * registrytest.Mm, 250 * registrytest.Mm}
			for _, house := range []*house.Workshop{w, one} {
				registrytest.OpenOrder(t, house, "2032-03-01", 0,
					orders.OrderLine{Wanted: orders.TreadleSet, Asked: 2 + n%3},
					orders.OrderLine{Wanted: orders.HandMachine, Asked: 1 + n%2})
			}
			homes := []*neighbours.House{nil, {Letters: "NQ", Name: "Nether Quoin", AsOf: w.Now()},
				{Letters: "EL", Name: "Eldwray", AsOf: w.Now().Add(-40 * 24 * time.Hour)}}
			for i := range 10 {
				there := homes[dice.IntN(len(homes))]
				h, b := registrytest.TreadleHead(pins[dice.IntN(2)]),
					registrytest.TreadleBase(pins[dice.IntN(2)])
				if dice.IntN(3) == 0 {
					h.Drive = registry.Hand
				}
				again, same := *h, *b
				registrytest.InHand(t, one, &again, &same)
				if there == nil {
					registrytest.InHand(t, w, h, b)
					continue
				}
				h.Tag, b.Tag = registry.NewTag(there.Letters, int64(2*i+1)),
					registry.NewTag(there.Letters, int64(2*i+2))
				h.Stage, b.Stage, h.LoggedAt = registry.Ready, registry.Ready, w.Now()
				there.Heads, there.Bases = append(there.Heads, *h), append(there.Bases, *b)
			}
			for _, h := range homes[1:] {
				require.NoError(t, h.Keep(dir))
			}
			own, err := w.Propose(registrytest.Ctx, nil)
			require.NoError(t, err)
			all, err := one.Propose(registrytest.Ctx, nil)
			require.NoError(t, err)
			with, err := w.ProposeAs(registrytest.Ctx, nil, planning.How{WithHouses: true})
			require.NoError(t, err)
			assert.Equal(t, all.Filled, with.Filled)
			fills, pieces := 0, map[registry.Tag]bool{}
			for _, r := range with.Rounds {
				fills += r.Fills
				for _, p := range r.Pieces {
					letters, _, _ := p.Tag.Parts()
					assert.Equal(t, r.Letters, letters)
					pieces[p.Tag] = true
				}
				assert.Equal(t, len(r.Pieces) > 0, r.Fills > 0, "a round that brings pieces is needed")
			}
			assert.Equal(t, with.Elsewhere > 0, len(pieces) > 0)
			for _, r := range with.Reservations {
				assert.Nil(t, onlyTheirs(r.Head.Tag, r.Base))
			}
			rounds += len(pieces)
			if own.Filled == with.Filled {
				assert.Empty(t, pieces, "nothing is driven where the stock of here fills as much")
				return
			}
			for tag := range pieces { // each is needed
				for _, h := range homes[1:] {
					fewer := *h
					fewer.Heads, fewer.Bases = nil, nil
					for _, m := range h.Heads {
						if pieces[m.Tag] && m.Tag != tag {
							fewer.Heads = append(fewer.Heads, m)
						}
					}
					for _, b := range h.Bases {
						if pieces[b.Tag] && b.Tag != tag {
							fewer.Bases = append(fewer.Bases, b)
						}
					}
					require.NoError(t, fewer.Keep(dir))
				}
				less, err := w.ProposeAs(registrytest.Ctx, nil, planning.How{WithHouses: true})
				require.NoError(t, err)
				assert.Less(t, less.Filled, with.Filled, tag)
			}
		})
	}
	assert.Greater(t, rounds, 5)
}

// onlyTheirs names a piece that is not of this house.
func onlyTheirs(head registry.Tag, base *stock.Base) error {
	tags := []registry.Tag{head}
	if base != nil {
		tags = append(tags, base.Tag)
	}
	for _, tag := range tags {
		if letters, _, _ := tag.Parts(); letters != "PM" {
			return fmt.Errorf("%s is reserved", tag)
		}
	}
	return nil
}
