package sqlite

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"sync"
	"time"
)

// stamp is how times are stored: UTC, to the millisecond, so that they sort as text.
const stamp = "2006-01-02T15:04:05.000Z"

// table says how a record type maps to its table.
type table struct {
	columns []column
	list    string // the columns' names, for SELECT
}

type column struct {
	name  string
	field []int // index path, through embedded structs
	json  bool
}

var tables sync.Map // reflect.Type → *table

// tableOf reads the `db` tags of a record's type, once.
func tableOf(t reflect.Type) *table {
	if known, ok := tables.Load(t); ok {
		return known.(*table)
	}
	made := &table{}
	made.add(t, nil)
	names := make([]string, len(made.columns))
	for i, c := range made.columns {
		names[i] = c.name
	}
	made.list = strings.Join(names, ", ")
	tables.Store(t, made)
	return made
}

func (t *table) add(typ reflect.Type, path []int) {
	for i := range typ.NumField() {
		f := typ.Field(i)
		index := append(append([]int(nil), path...), i)
		tag := f.Tag.Get("db")
		switch {
		case tag != "":
			name, option, _ := strings.Cut(tag, ",")
			t.columns = append(t.columns, column{name: name, field: index, json: option == "json"})
		case f.Anonymous && f.Type.Kind() == reflect.Struct:
			t.add(f.Type, index)
		}
	}
}

// values gives what is stored for each column of v: nil, int64, float64 or string.
func (t *table) values(v reflect.Value) ([]any, error) {
	out := make([]any, len(t.columns))
	for i, c := range t.columns {
		var err error
		if out[i], err = store(v.FieldByIndex(c.field), c.json); err != nil {
			return nil, fmt.Errorf("column %s: %w", c.name, err)
		}
	}
	return out, nil
}

func store(f reflect.Value, asJSON bool) (any, error) {
	if asJSON {
		if f.Kind() == reflect.Slice && f.Len() == 0 {
			return "[]", nil
		}
		text, err := json.Marshal(f.Interface())
		return string(text), err
	}
	if at, ok := f.Interface().(time.Time); ok {
		if at.IsZero() {
			return "", nil
		}
		return at.UTC().Format(stamp), nil
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
		return store(f.Elem(), false)
	}
	return nil, fmt.Errorf("%s cannot be stored", f.Type())
}

// fill sets the fields of v from stored values.
func (t *table) fill(v reflect.Value, stored []any) error {
	for i, c := range t.columns {
		if err := load(v.FieldByIndex(c.field), stored[i], c.json); err != nil {
			return fmt.Errorf("column %s: %w", c.name, err)
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
	if f.Type() == reflect.TypeFor[time.Time]() {
		if stored == "" {
			f.SetZero()
			return nil
		}
		at, err := time.Parse(stamp, stored.(string))
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
