package main

import (
	"os"
	"slices"
	"strings"

	"github.com/spf13/pflag"
	"golang.org/x/term"

	"pitman/registry/fields"
)

// fieldFlags gives a command a flag for each thing people type about a kind of record.
type fieldFlags[T any] struct {
	fields []fields.Of[T]
	values map[string]*fieldValue // by the field's name
	flags  *pflag.FlagSet
}

// fieldValue collects what was typed for one field, and says in the usage line what it takes.
type fieldValue struct {
	typed []string
	takes string
}

func (v *fieldValue) Set(s string) error { v.typed = append(v.typed, s); return nil }
func (v *fieldValue) String() string     { return strings.Join(v.typed, ", ") }
func (v *fieldValue) Type() string       { return v.takes }

// addFieldFlags adds a flag for each of the named fields, or for all when none is named.
func addFieldFlags[T any](flags *pflag.FlagSet, fields []fields.Of[T], names ...string) *fieldFlags[T] {
	f := &fieldFlags[T]{fields: fields, values: map[string]*fieldValue{}, flags: flags}
	for _, field := range fields {
		if len(names) > 0 && !slices.Contains(names, field.Name) {
			continue
		}
		value := &fieldValue{takes: field.Value}
		f.values[field.Name] = value
		flags.Var(value, field.Name, field.Usage)
	}
	return f
}

// given says whether any of the flags was used.
func (f *fieldFlags[T]) given() bool {
	for name := range f.values {
		if f.flags.Changed(name) {
			return true
		}
	}
	return false
}

// apply sets what was given on the command line.
func (f *fieldFlags[T]) apply(rec *T) error {
	for _, field := range f.fields {
		if f.flags.Changed(field.Name) {
			if err := field.Set(rec, f.values[field.Name].typed); err != nil {
				return err
			}
		}
	}
	return nil
}

func (a *app) onTerminal() bool {
	f, ok := a.in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// closest finds what a person may mean by a few letters: names that begin so, in any case.
func closest(names []string, typed string) []string {
	var found []string
	for _, name := range names {
		if strings.EqualFold(name, typed) {
			return []string{name}
		}
		if len(name) >= len(typed) && strings.EqualFold(name[:len(typed)], typed) {
			found = append(found, name)
		}
	}
	return found
}
