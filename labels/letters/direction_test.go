package letters

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// By the Unicode Standard Annex #9, rules P2 and P3: the first strong letter decides.
func TestRightToLeft(t *testing.T) {
	for text, right := range map[string]bool{"oil": false, "": false, "12": false, "الزيت": true,
		"12 الزيت": true,
		"שמן a":    true, "a שמן": false, "«oil»": false} {
		assert.Equal(t, right, RightToLeft(text), text)
	}
}
