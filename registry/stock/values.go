package stock

import (
	"reflect"
	"strings"
	"unicode/utf8"

	"pitman/registry"
)

// checkValues says what is wrong with a machine that was not made by the rules of this house.
func (m *Machine) checkValues() error {
	if _, err := registry.ParseStage(string(m.Stage)); err != nil {
		return err
	}
	if _, err := registry.ParseStitch(string(m.Stitch)); err != nil {
		return err
	}
	if err := m.Mains.Check(); err != nil {
		return err
	}
	if err := bounded(reflect.ValueOf(m).Elem()); err != nil {
		return err
	}
	for _, f := range MachineFields {
		fresh := *m
		if err := f.Set(&fresh, f.Get(m)); err != nil {
			return err
		}
	}
	for _, year := range []*int{m.From, m.To, m.Best} {
		if year != nil && (*year < 1000 || *year > 2999) {
			return registry.Errorf(registry.Invalid,
				"%d is no year in which a machine can have been made: give four digits, such as 1926", *year).
				On("year")
		}
	}
	if m.From != nil && m.To != nil && *m.From > *m.To {
		return registry.Errorf(registry.Invalid, "no machine was made from %d to %d: give the earlier year first",
			*m.From, *m.To).On("year")
	}
	return m.Validate()
}

// checkValues says what is wrong with a base that was not made by the rules of this house.
func (b *Base) checkValues() error {
	if _, err := registry.ParseStage(string(b.Stage)); err != nil {
		return err
	}
	if err := bounded(reflect.ValueOf(b).Elem()); err != nil {
		return err
	}
	for _, f := range BaseFields {
		fresh := *b
		if err := f.Set(&fresh, f.Get(b)); err != nil {
			return err
		}
	}
	return nil
}

// bounded refuses a figure below zero and a text longer than anybody can have typed.
func bounded(record reflect.Value) error {
	for _, f := range reflect.VisibleFields(record.Type()) {
		name, _, _ := strings.Cut(f.Tag.Get("db"), ",")
		value := record.FieldByIndex(f.Index)
		switch {
		case name == "":
		case value.CanInt() && value.Int() < 0:
			return registry.Errorf(registry.Invalid, "%s %d is below zero: no such thing is measured", name,
				value.Int())
		case value.Kind() == reflect.String && utf8.RuneCountInString(value.String()) > registry.MaxNote:
			return registry.Errorf(registry.Invalid, "%s has %d characters, and at most %d can be typed",
				name,
				utf8.RuneCountInString(value.String()), registry.MaxNote)
		}
	}
	return nil
}
