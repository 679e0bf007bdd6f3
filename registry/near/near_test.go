package near

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestName(t *testing.T) {
	known := []string{"Harrow & Finch", "Ostermann", "Ødegård", "bay 1", "under the stairs", "Adler",
		"the north shelf", "the north wall", "shelf A"}
	for typed, want := range map[string]string{
		"Ostermann": "", "OSTERMANN": "", "Harow & Finch": "Harrow & Finch", "Ostermnan": "Ostermann",
		"Odegaard": "Ødegård",
		"bay 2":    "", "shelf B": "", "shelff A": "shelf A", "bay 11": "", "under": "under the stairs",
		"the north": "", "Adlr": "Adler",
		"Adder": "Adler", "Elm": "", "": "",
	} {
		require.Equal(t, want, Name(known, typed), typed)
	}
	require.Equal(t, "treadle", Name([]string{"hand", "treadle", "electric"}, "treddle"))
	require.Equal(t, "electric", Name([]string{"hand", "treadle", "electric"}, "elektric"))
	require.Empty(t, Name([]string{"hand", "treadle", "electric"}, "foot"))
}
