// Package place says what a word is that was typed or scanned where a place is asked for.
//
// The symbol on a shelf's label holds a short code and not the shelf's name, which scanners type in their own
// ways. A code follows from the name alone, so that one printed years ago still leads there after a restore.
// It begins with a figure, as no tag does, and ends in a check character. A word that is no code is the name
// of a place, as people and the labels of earlier programs have it.
package place

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"strings"

	"golang.org/x/text/unicode/norm"

	"pitman/registry"
	"pitman/registry/stock"
)

// A code is seven figures, the letter of shelves and a check character, such as 4829131S and what fits.
const (
	figures = 7
	letter  = "S"
	least   = 1_000_000
)

// Code is what the symbol on a place's label holds. Large and small letters make no difference to it.
func Code(name string) string {
	sum := sha256.Sum256([]byte(strings.ToLower(norm.NFC.String(strings.TrimSpace(name)))))
	body := fmt.Sprint(least+binary.BigEndian.Uint64(sum[:])%(9*least)) + letter
	return body + string(registry.CheckCharacter(body))
}

// shaped says whether a word has the form of a code, and returns it as it stands on a label.
func shaped(word string) (code string, ok bool) {
	code = strings.ToUpper(strings.Join(strings.FieldsFunc(word,
		func(r rune) bool { return r == ' ' || r == '-' }), ""))
	return code, len(code) == figures+2 && strings.Trim(code[:figures], "0123456789") == "" &&
		code[figures:figures+1] == letter
}

// Read says which place is meant by a word. It refuses the tag of a head or base of this house, which was
// scanned into the wrong field, and a code that no place of this house has, since nobody can tell which is
// meant: a person reads the name on the label and types it.
func Read(r stock.Reader, word string) (string, error) {
	if err := noTag(r, word); err != nil {
		return "", err
	}
	code, ok := shaped(word)
	if !ok {
		return word, nil
	}
	known, err := Known(r)
	switch {
	case err != nil:
		return "", err
	case known[code] != "":
		return known[code], nil
	case registry.CheckCharacter(code[:len(code)-1]) != code[len(code)-1]:
		return "", registry.Errorf(registry.Invalid,
			"place %q was mistyped: the last character of that code does not fit the rest; scan the label "+
				"again, "+
				"or type the name that stands on it", word).On("place")
	}
	return "", registry.Errorf(registry.NotFound,
		"place %q is the code of a shelf that this house does not know: type the name that stands on its "+
			"label",
		word).On("place")
}

// Known are the places of this house by their codes: those where something stands, and those that a label was
// printed for.
func Known(r stock.Reader) (map[string]string, error) {
	known := make(map[string]string)
	see := func(name string) {
		if name != "" && known[Code(name)] == "" {
			known[Code(name)] = name
		}
	}
	if err := r.Machines(stock.MachineFilter{Here: true},
		func(m *stock.Machine) error { see(m.Place); return nil }); err != nil {
		return nil, err
	}
	var b stock.Base
	if err := r.Each(&b, func() error { see(b.Place); return nil }); err != nil {
		return nil, err
	}
	return known, r.Prints(func(p stock.Print) error {
		if p.Kind == stock.ShelfPrint && known[string(p.Tag)] == "" {
			known[string(p.Tag)] = p.Says
		}
		return nil
	})
}

// Coded is the code for a place's label. Two names whose codes are the same cannot both have one; that is so
// of one pair in nine million.
func Coded(r stock.Reader, name string) (string, error) {
	known, err := Known(r)
	if other := known[Code(name)]; err == nil && other != "" && !strings.EqualFold(other, name) {
		err = registry.Errorf(registry.Conflict,
			"place %q would have the code of %q on its label: call it a little otherwise", name,
			other).On("place")
	}
	return Code(name), err
}

func noTag(r stock.Reader, word string) error {
	if !registry.IsTag(word) {
		return nil
	}
	tag, err := registry.ParseTag(word)
	if err != nil {
		return err
	}
	m, _, err := stock.HeadOrBase(r, tag)
	if registry.CodeOf(err) == registry.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	what := "base"
	if m != nil {
		what = "machine"
	}
	return registry.Errorf(registry.Invalid,
		"place %q is the tag of a %s: type the name of a place, such as \"bay 2\"", word, what).On("place")
}
