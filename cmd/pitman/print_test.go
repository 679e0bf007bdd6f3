package main

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/rivo/uniseg"
	"github.com/stretchr/testify/assert"
)

// Letters of East Asia are two columns wide (Unicode Standard Annex 11), and a combining accent takes none.
func TestColumnsLineUpOnTheScreen(t *testing.T) {
	var b strings.Builder
	columns(&b, func(w io.Writer) {
		fmt.Fprint(w, "PM1\t架子\there\nPM2\tetage\u0301re\there\nPM3\tshelf\there\nPM4\t\there\nno cells at "+
			"all, but long\n\nPM5\tx\n")
	})
	var at []int
	for line := range strings.Lines(b.String()) {
		if before, _, ok := strings.Cut(line, "here"); ok {
			at = append(at, uniseg.StringWidth(before))
		}
	}
	assert.Equal(t, []int{14, 14, 14, 14}, at, b.String())
}
