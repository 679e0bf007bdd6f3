package lookup

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/stock"
)

// What somebody remembers of a machine, beside what is written of it; and what is another one.
func TestWordsFindAMachine(t *testing.T) {
	from, to := 1921, 1922
	m := &stock.Machine{Tag: "PM16", Maker: "Harrow & Finch", Model: "Éclair Swallow", Serial: "KA730O1",
		From: &from,
		To:   &to, Note: "drawer key"}
	for text, want := range map[string]bool{
		"finch harrow": true, "harrow 1922": true, "1920s": true, "key eclair": true, "harow 1921": true,
		"swalow": true, "KA73OO1": true, "ka73001": true, "1920s swallow harrow": true,
		"harrow 1923": false, "1930s": false, "KA73002": false, "harrow orlop": false, "sw4llow": false,
	} {
		found := true
		for _, w := range wordsOf(text) {
			found = found && saidOf(m).like(w)
		}
		assert.Equal(t, want, found, text)
	}
}
