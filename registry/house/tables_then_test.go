package house

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitman/serials/delimited"
)

func TestChangesOfTables(t *testing.T) {
	old := tablesThen{time.Unix(1, 0), map[string][]string{
		"a.csv": delimited.LinesOf([]byte("maker,first\r\nQuill,1\r\nFenn,2\r\nFenn,2\r\n\r\n")), "gone.csv": {"x"},
		"same.csv": delimited.LinesOf([]byte("a;b\nÉ;1\n;;\n"))}}
	fresh := tablesThen{time.Unix(2, 0), map[string][]string{
		"a.csv": delimited.LinesOf([]byte("maker,first\nFenn,2\nQuill,3\nQuill,1\n")), "new.csv": {"y"},
		"same.csv": delimited.LinesOf([]byte("a;b\r\xc9;1\r"))}} // saved by another program
	assert.Equal(t, []TableChange{
		{old.at, fresh.at, "a.csv", "changed", []string{"Quill,3"}, []string{"Fenn,2"}},
		{old.at, fresh.at, "gone.csv", "gone", []string{}, []string{"x"}},
		{old.at, fresh.at, "new.csv", "new", []string{"y"}, []string{}},
	}, changesOf(old, fresh))
}
