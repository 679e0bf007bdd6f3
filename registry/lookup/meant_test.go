package lookup_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/lookup"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Of several tags that a slip may stand for, the one that hangs on something here is told; where none or
// several do, nobody can tell.
func TestOfSeveralTagsTheOneThatIsHere(t *testing.T) {
	w := registrytest.Workshop(t)
	as := func(*stock.Machine) {}
	here, also := registrytest.Put(t, w, registry.Hand, as), registrytest.Put(t, w, registry.Hand, as)
	away := registry.NewTag("PM", 900)
	meant := func(tags ...registry.Tag) registry.Tag {
		return lookup.Meant(registrytest.Ctx, w.Store, &registry.Error{Meant: tags})
	}
	assert.Equal(t, here, meant(away, here))
	assert.Empty(t, meant(also, here))
	assert.Empty(t, meant(away, registry.NewTag("PM", 901)))
	assert.Equal(t, away, meant(away), "the only one that fits")
	assert.Empty(t, meant())
	assert.Empty(t, lookup.Meant(registrytest.Ctx, w.Store, errors.New("PM17")))
}
