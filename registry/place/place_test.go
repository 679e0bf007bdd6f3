package place_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/place"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// No code can be taken for a tag, nor for the number of an order, and every wrong figure is noticed
// (ISO/IEC 7064, MOD 37,36: the hybrid system catches every single wrong character).
func TestACodeIsNoTag(t *testing.T) {
	w := registrytest.Workshop(t)
	seen := map[string]string{}
	for n := range 500 {
		name := fmt.Sprintf("bay %d", n)
		code := place.Code(name)
		require.Len(t, code, 9)
		require.Equal(t, code, place.Code(" "+strings.ToUpper(name)+" "))
		require.Empty(t, seen[code], "%s and %s", seen[code], name)
		seen[code] = name
		_, err := registry.ParseTag(code)
		require.Error(t, err)
	}
	code := place.Code("bay 1")
	for i := range 7 {
		wrong := code[:i] + string('0'+(code[i]-'0'+1)%10) + code[i+1:]
		_, err := w.PlaceNamed(registrytest.Ctx, wrong)
		assert.ErrorContains(t, err, "was mistyped", wrong)
	}
	assert.Equal(t, place.Code("Gi\u00e1 3"), place.Code("Gia\u0301 3"), "accents composed or not")
}

// One rule reads a place wherever one is asked for.
func TestReading(t *testing.T) {
	w := registrytest.Workshop(t)
	head := registrytest.Put(t, w, registry.Treadle, func(m *stock.Machine) { m.Place = "Étagère 3" })
	base := registrytest.PutBase(t, w, func(b *stock.Base) { b.Place = "yard" })
	where := func() string {
		m, err := w.Machine(registrytest.Ctx, head)
		require.NoError(t, err)
		return m.Place
	}
	_, err := w.Move(registrytest.Ctx, "QX", []registry.Tag{head}, place.Code("yard"))
	require.NoError(t, err)
	assert.Equal(t, "yard", where())
	code := place.Code("Étagère 3") // nothing stands there any more, and no label of it was printed
	_, err = w.Move(registrytest.Ctx, "QX", []registry.Tag{head}, code)
	assert.Equal(t, registry.NotFound, registry.CodeOf(err))
	assert.ErrorContains(t, err, "type the name that stands on its label")
	assert.Equal(t, "yard", where())

	require.NoError(t, w.NotePrints(registrytest.Ctx, "", []stock.Print{{Tag: registry.Tag(code),
		Kind: stock.ShelfPrint, Event: stock.Printed, Says: "Étagère 3"}}, func(stock.Tx) error { return nil }))
	c, err := w.Count(registrytest.Ctx, strings.ToLower(code[:4]+" "+code[4:]), []registry.Tag{head})
	require.NoError(t, err)
	assert.Equal(t, "Étagère 3", c.Place)
	m, err := w.Amend(registrytest.Ctx, "QX", head, "",
		func(m *stock.Machine) error { m.Place = code; return nil })
	require.NoError(t, err)
	assert.Equal(t, "Étagère 3", m.Place)
	m, err = w.Amend(registrytest.Ctx, "QX", head, "",
		func(m *stock.Machine) error { m.Place = "new bay"; return nil })
	require.NoError(t, err)
	assert.Equal(t, "new bay", m.Place, "a typed name makes a place")
	_, err = w.PlaceNamed(registrytest.Ctx, string(base))
	assert.ErrorContains(t, err, "is the tag of a base")
}
