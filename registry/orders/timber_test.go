package orders_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/orders"
)

// The form is that of ISPM 15 (2018), annex 2: country code, hyphen, producer's code, then the code of the
// treatment (HT, MB, DH, SF of annex 1). Marks made before 2009 may say DB behind it.
func TestTimberMarkHasItsForm(t *testing.T) {
	field, _ := fields.Named(orders.OrderFields, "timber-mark")
	for _, good := range []string{"", "XX-00000 HT", "XX - 000 - HT", "xx-0000 ht", "XX-AB 12 3456 HT",
		"XX-AB1234HT", "XX-123 MB", "XX-1 SF", "XX-9.9 DH", "XX-000 HT DB", " XX-000 HT "} {
		assert.NoError(t, field.Set(&orders.Order{}, []string{good}), good)
	}
	for _, bad := range []string{"rubbish", "XX-1234", "XX 1234 HT", "HT", "X-1234 HT", "XXX-1234 HT",
		"XX-1234 HTX", "XX-BRIGHT", "XX- HT", "ХХ-1234 НТ", "XX-1234 KD", "1X-1234 HT", "see XX-1234 HT"} {
		o := orders.Order{TimberMark: "XX-1 HT"}
		err := field.Set(&o, []string{bad})
		assert.ErrorContains(t, err, "has not the form of ISPM 15", bad)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err))
		assert.Equal(t, "XX-1 HT", o.TimberMark, "what was known stays")
	}
}
