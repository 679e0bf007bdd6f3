// Package mapping says how records lie in tables: each field with a `db` tag is a column.
package mapping

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"
)

// Stamp is how times are stored: UTC, to the millisecond, so that they sort as text.
const Stamp = "2006-01-02T15:04:05.000Z"

// Table says how a record type maps to its table.
type Table struct {
	Columns []Column
	List    string // the columns' names, for SELECT
	ByName  []int  // the columns in the order of their names, in which a change tells them
}

// Column is one column of a table.
type Column struct {
	Name  string
	JSON  bool  // what the field holds is stored as JSON
	field []int // index path, through embedded structs
}

// In is the field of a record that the column holds.
func (c Column) In(v reflect.Value) reflect.Value { return v.FieldByIndex(c.field) }

// Load sets the field from what is stored.
func (c Column) Load(v reflect.Value, stored any) error { return load(c.In(v), stored, c.JSON) }

var tables sync.Map // reflect.Type → *Table

// Of reads the `db` tags of a record's type, once.
func Of(t reflect.Type) *Table {
	if known, ok := tables.Load(t); ok {
		return known.(*Table)
	}
	made := &Table{}
	made.add(t, nil)
	names := make([]string, len(made.Columns))
	for i, c := range made.Columns {
		names[i] = c.Name
	}
	made.List = strings.Join(names, ", ")
	for i := range names {
		made.ByName = append(made.ByName, i)
	}
	slices.SortFunc(made.ByName, func(a, b int) int { return strings.Compare(names[a], names[b]) })
	tables.Store(t, made)
	return made
}

func (t *Table) add(typ reflect.Type, path []int) {
	for i := range typ.NumField() {
		f := typ.Field(i)
		index := append(append([]int(nil), path...), i)
		tag := f.Tag.Get("db")
		switch {
		case tag != "":
			name, option, _ := strings.Cut(tag, ",")
			t.Columns = append(t.Columns, Column{Name: name, field: index, JSON: option == "json"})
		case f.Anonymous && f.Type.Kind() == reflect.Struct:
			t.add(f.Type, index)
		}
	}
}

// Values gives what is stored for each column of v: nil, int64, float64 or string.
func (t *Table) Values(v reflect.Value) ([]any, error) {
	out := make([]any, len(t.Columns))
	for i, c := range t.Columns {
		var err error
		if out[i], err = Store(c.In(v), c.JSON); err != nil {
			return nil, fmt.Errorf("column %s: %w", c.Name, err)
		}
	}
	return out, nil
}

var timeType = reflect.TypeFor[time.Time]()

// Store gives what is stored of a field.
func Store(f reflect.Value, asJSON bool) (any, error) {
	if asJSON {
		if f.Kind() == reflect.Slice && f.Len() == 0 {
			return "[]", nil
		}
		text, err := json.Marshal(f.Interface())
		return string(text), err
	}
	if f.Type() == timeType {
		at := f.Interface().(time.Time)
		if at.IsZero() {
			return "", nil
		}
		return at.UTC().Format(Stamp), nil
	}
	switch f.Kind() {
	case reflect.String:
		return f.String(), nil
	case reflect.Bool:
		if f.Bool() {
			return int64(1), nil
		}
		return int64(0), nil
	case reflect.Int, reflect.Int64:
		return f.Int(), nil
	case reflect.Float64:
		return f.Float(), nil
	case reflect.Pointer:
		if f.IsNil() {
			return nil, nil
		}
		return Store(f.Elem(), false)
	}
	return nil, fmt.Errorf("%s cannot be stored", f.Type())
}

// Fill sets the fields of v from stored values.
func (t *Table) Fill(v reflect.Value, stored []any) error {
	for i, c := range t.Columns {
		if err := c.Load(v, stored[i]); err != nil {
			return fmt.Errorf("column %s: %w", c.Name, err)
		}
	}
	return nil
}

func load(f reflect.Value, stored any, asJSON bool) error {
	if stored == nil || asJSON && stored == "[]" {
		f.SetZero()
		return nil
	}
	if asJSON {
		return json.Unmarshal([]byte(stored.(string)), f.Addr().Interface())
	}
	if f.Type() == timeType {
		if stored == "" {
			f.SetZero()
			return nil
		}
		at, err := time.Parse(Stamp, stored.(string))
		f.Set(reflect.ValueOf(at))
		return err
	}
	switch f.Kind() {
	case reflect.String:
		f.SetString(stored.(string))
	case reflect.Bool:
		f.SetBool(stored.(int64) != 0)
	case reflect.Int, reflect.Int64:
		f.SetInt(stored.(int64))
	case reflect.Float64:
		f.SetFloat(stored.(float64))
	case reflect.Pointer:
		f.Set(reflect.New(f.Type().Elem()))
		return load(f.Elem(), stored, false)
	default:
		return fmt.Errorf("%s cannot be loaded", f.Type())
	}
	return nil
}
