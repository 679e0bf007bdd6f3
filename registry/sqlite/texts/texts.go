// Package texts is how a text is found wherever it stands in a machine's fields: an index of every three
// bytes that follow each other names the machines that may hold it, and only those are looked at.
package texts

import (
	"encoding/hex"
	"slices"
	"strings"
)

// Searched are the columns of a machine in which a text is looked for.
var Searched = []string{"tag", "maker", "model", "serial", "donor", "condition", "place", "note"}

// Gram is how many bytes the index of texts takes together. A shorter text is looked for in every machine.
const Gram = 3

// Whole is all of a machine's text, line by line.
var Whole = strings.Join(Searched, " || char(10) || ")

// maxGrams are looked up for one text, as many as the index can take at once; the rest of a longer text is
// compared.
const maxGrams = 200

// Grams spells every three bytes that follow each other in the texts as a word, each once. Case does not
// matter for A to Z, as with LIKE. Those that begin or end with a space are left out, a third of what
// stands in sentences: the one across the space tells nearly as much.
func Grams(texts ...string) string {
	size := 0
	for _, text := range texts {
		size += len(text)
	}
	found := make([]uint32, 0, size)
	for _, text := range texts {
		var last uint32
		for i := range len(text) {
			c := text[i]
			if c >= 'A' && c <= 'Z' {
				c += 'a' - 'A'
			}
			last = last<<8&0xFFFFFF | uint32(c)
			if i >= Gram-1 && c != ' ' && last>>16 != ' ' {
				found = append(found, last)
			}
		}
	}
	slices.Sort(found)
	found = slices.Compact(found)
	out := make([]byte, 0, len(found)*(2*Gram+1))
	for _, g := range found {
		out = append(hex.AppendEncode(out, []byte{byte(g >> 16), byte(g >> 8), byte(g)}), ' ')
	}
	return string(out)
}

// Condition finds the text in any Searched column, whatever stands around it. Where the index can help,
// it names it as a table to go through first, in the order of the machines, so that a page is full without
// looking at the rest.
func Condition(text string) (through, condition string, args []any) {
	like := "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(text) + "%"
	var alike []string
	for _, name := range Searched {
		alike = append(alike, name+` LIKE ? ESCAPE '\'`)
		args = append(args, like)
	}
	condition = "(" + strings.Join(alike, " OR ") + ")"
	if words := Grams(text[:min(len(text), maxGrams)]); words != "" {
		return "machine_text CROSS JOIN machine ON id = docid", "grams MATCH ? AND " + condition,
			append([]any{words}, args...)
	}
	return "machine", condition, args
}
