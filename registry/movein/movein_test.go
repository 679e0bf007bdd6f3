package movein_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/imports"
	"pitman/registry/movein"
	"pitman/registry/registrytest"
	"pitman/registry/sheet"
)

// Whatever a list holds, each of its faults has a row, a look keeps nothing, and what is taken in verifies.
func FuzzTake(f *testing.F) {
	for _, seed := range [][2]string{
		{"bases", "id,parts,stage,received,opening\nb1,all,ready,2020-03-02,374x181\nb1,,,,\nb2,legs,packed,,\n"},
		{"bases", "tag,arrived-with,place\nPM16,PM24,PM16\nPM16,,=1+1\n"},
		{"partners", "name,supply,mains-hours\n\"Marsh\nLane\",230V/50Hz/G,25\nmarsh lane,,\n"},
		{"orders", "order,for,due,kind,quantity,state,rate\n7,A,2032-03-01,hand,3,open,\n7,B,,hand,2,shipped,9\n"},
		{"orders", "for,due,kind,quantity\nA,2032-03-01,electric,10001\nA,2032-03-01,treadle-set,1\n"},
		{"chairs", ""},
	} {
		f.Add(seed[0], seed[1])
	}
	w := registrytest.Workshop(f)
	f.Fuzz(func(t *testing.T, kind, text string) {
		k, err := movein.ParseKind(kind)
		if err != nil {
			return
		}
		given, err := imports.ParseMap(strings.Split(text, "\n"), fieldsOf(k))
		require.True(t, err != nil || given != nil)
		for _, looking := range []bool{true, false} {
			h, err := movein.ReadHeader(k, strings.NewReader(text), 0, nil, nil)
			var fault *sheet.Fault
			if errors.As(err, &fault) {
				return
			}
			require.NoError(t, err)
			if len(h.Faults()) > 0 {
				return
			}
			list := &movein.List{Kind: k, File: "list.csv", Header: h}
			var result *movein.Result
			if looking {
				result, err = w.MovingIn.Look(context.Background(), list)
			} else {
				result, err = w.MovingIn.Take(context.Background(), "QX", list, nil)
			}
			require.NoError(t, err)
			for _, f := range result.Faults {
				require.Positive(t, f.Row)
			}
			if !looking && len(result.Faults) == 0 && result.New > 0 {
				registrytest.VerifiesClean(t, w)
				_, err := w.Undo(context.Background(), "QX")
				require.NoError(t, err)
			}
		}
	})
}

func fieldsOf(k movein.Kind) []string {
	fields, _ := k.Fields()
	return fields
}
