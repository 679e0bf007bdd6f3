package desk

import (
	"reflect"
	"slices"
)

// memory is how the desk stood before a key, so that a key that was the first letter of a word can be taken
// back. Only pages are remembered: a key that writes something at once waits until it is clear that it came
// alone (see alone).
type memory struct {
	stack   []screen
	were    []reflect.Value // what each page held
	message string
	caution bool
}

func (d *Desk) remember() *memory {
	m := &memory{stack: slices.Clone(d.stack), message: d.message, caution: d.caution}
	for _, s := range m.stack {
		was := reflect.New(reflect.TypeOf(s).Elem()).Elem()
		was.Set(reflect.ValueOf(s).Elem())
		m.were = append(m.were, was)
	}
	return m
}

// forget puts the desk back to where it stood. Pages change their maps by replacing them, so that what they
// held is whole.
func (d *Desk) forget(m *memory) {
	d.stack, d.message, d.caution = m.stack, m.message, m.caution
	for i, s := range m.stack {
		reflect.ValueOf(s).Elem().Set(m.were[i])
	}
}
