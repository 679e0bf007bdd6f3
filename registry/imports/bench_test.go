package imports_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"pitman/registry/registrytest"

	"github.com/stretchr/testify/require"
)

var ctx = registrytest.Ctx

// A big spreadsheet, with checks and history, in machines a second. Common practice: a year of donations is
// some thousands.
func BenchmarkImport(b *testing.B) {
	w := registrytest.InLetters(b, "PM")
	var text strings.Builder
	text.WriteString("maker,serial,drive,model,donor,condition,place,note\n")
	for i := range b.N {
		fmt.Fprintf(&text,
			"Willcox & Gibbs,%d,hand,Swallow,donor %d,complete and dusty,bay %d,note of row %d\n", i+1, i%700,
			i%40, i)
	}
	cancellable, stop := context.WithCancel(ctx) // as the command runs
	defer stop()
	b.ResetTimer()
	result, err := registrytest.TakeIn(cancellable, w, text.String())
	require.NoError(b, err)
	require.Equal(b, b.N, result.New)
}
