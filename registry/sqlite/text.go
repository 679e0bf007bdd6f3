package sqlite

import (
	"encoding/hex"
	"slices"
	"strings"
)

// searched are the columns of a machine in which a text is looked for.
var searched = []string{"tag", "maker", "model", "serial", "donor", "condition", "place", "note"}

// gram is how many bytes the index of texts takes together. A shorter text is looked for in every machine.
const gram = 3

// maxGrams are looked up for one text, as many as the index can take at once; the rest of a longer text is
// compared.
const maxGrams = 200

// indexText adds what a change put into the searched columns. What it took out stays in the index, which only
// ever names machines that may hold a text.
func (t *tx) indexText(kind string, id int64, fields map[string][2]any) error {
	if kind != "machine" {
		return nil
	}
	var texts []string
	for _, name := range searched {
		if text, ok := fields[name][1].(string); ok {
			texts = append(texts, text)
		}
	}
	words := grams(texts...)
	if words == "" {
		return nil
	}
	_, err := t.exec("INSERT INTO machine_text (docid, grams) VALUES (?, ?)", id, words)
	return err
}

// grams spells every three bytes that follow each other in the texts as a word, each once. Case does not
// matter for A to Z, as with LIKE.
func grams(texts ...string) string {
	var found []uint32
	for _, text := range texts {
		var last uint32
		for i := range len(text) {
			c := text[i]
			if c >= 'A' && c <= 'Z' {
				c += 'a' - 'A'
			}
			if last = last<<8&0xFFFFFF | uint32(c); i >= gram-1 {
				found = append(found, last)
			}
		}
	}
	slices.Sort(found)
	out := make([]byte, 0, len(found)*(2*gram+1))
	for _, g := range slices.Compact(found) {
		out = append(hex.AppendEncode(out, []byte{byte(g >> 16), byte(g >> 8), byte(g)}), ' ')
	}
	return string(out)
}

// textCondition finds the text in any searched column, whatever stands around it. Where the index can help,
// it names it as a table to go through first, in the order of the machines, so that a page is full without
// looking at the rest.
func textCondition(text string) (through, condition string, args []any) {
	like := "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(text) + "%"
	var alike []string
	for _, name := range searched {
		alike = append(alike, name+` LIKE ? ESCAPE '\'`)
		args = append(args, like)
	}
	condition = "(" + strings.Join(alike, " OR ") + ")"
	if words := grams(text[:min(len(text), maxGrams)]); words != "" {
		return "machine_text CROSS JOIN machine ON id = docid", "grams MATCH ? AND " + condition,
			append([]any{words}, args...)
	}
	return "machine", condition, args
}
