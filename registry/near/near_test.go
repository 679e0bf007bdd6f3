package near_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/near"
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
		require.Equal(t, want, near.Name(known, typed), typed)
	}
	require.Equal(t, "treadle", near.Name([]string{"hand", "treadle", "electric"}, "treddle"))
	require.Equal(t, "electric", near.Name([]string{"hand", "treadle", "electric"}, "elektric"))
	require.Empty(t, near.Name([]string{"hand", "treadle", "electric"}, "foot"))
}
