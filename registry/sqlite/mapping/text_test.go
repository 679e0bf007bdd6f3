package mapping_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/sqlite/mapping"
)

// The history keeps what the standard library makes of a change.
func TestAChangeIsWrittenAsJSON(t *testing.T) {
	for _, fields := range []map[string][2]any{
		{},
		{"maker": {nil, "Tamarisk"}},
		{"year_from": {int64(-5), int64(1<<63 - 1)}, "about": {"", "bay 2"}, "a": {nil, nil}},
		{"note": {"line\nline\ttab", `"quoted" \ <b>&amp;</b>`}},
		{"note": {"Étagère 3", "货架 ​\u2028\x7f"}, "torn": {"\xff", nil}},
		{"mass": {1.5, 1e21}, "dated_by": {"[]", `["a:1"]`}},
	} {
		want, err := json.Marshal(fields)
		require.NoError(t, err)
		var given []mapping.Field // in whatever order a map has
		for name, values := range fields {
			given = append(given, mapping.Field{Name: name, Was: values[0], Now: values[1]})
		}
		got, err := mapping.Changes(given)
		require.NoError(t, err)
		assert.Equal(t, string(want), got)
	}
}

func TestEmptyValuesStandInTheText(t *testing.T) {
	text, args := mapping.Literals([]any{nil, "", int64(0), "[]", "x", int64(7), 0.0, "0", "'"})
	assert.Equal(t, "NULL, '', 0, '[]', ?, ?, ?, ?, ?", text)
	assert.Equal(t, []any{"x", int64(7), 0.0, "0", "'"}, args)
}
