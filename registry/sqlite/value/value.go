// Package value is what a column of the registry holds, beside the JSON in which histories and bundles tell
// it.
package value

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"time"

	"pitman/registry/sqlite/mapping"
)

// Native turns a value from JSON into the one that the column of a field of this type stores.
func Native(t reflect.Type, v any) (any, error) {
	for t.Kind() == reflect.Pointer {
		if v == nil {
			return nil, nil
		}
		t = t.Elem()
	}
	number, isNumber := v.(json.Number)
	text, isText := v.(string)
	switch kind := t.Kind(); {
	case isNumber && (kind == reflect.Int || kind == reflect.Int64 || kind == reflect.Bool):
		return number.Int64()
	case isNumber && kind == reflect.Float64:
		return number.Float64()
	case isText && t == reflect.TypeFor[time.Time]():
		if text != "" {
			if _, err := time.Parse(mapping.Stamp, text); err != nil {
				return nil, err
			}
		}
		return text, nil
	case isText && kind != reflect.Int && kind != reflect.Int64 && kind != reflect.Bool &&
		kind != reflect.Float64:
		return text, nil
	}
	return nil, errors.New("wrong type")
}

// Stored turns a value out of the history's JSON into what the driver takes.
func Stored(value any) (any, error) {
	switch v := value.(type) {
	case nil, string:
		return v, nil
	case json.Number:
		if n, err := v.Int64(); err == nil {
			return n, nil
		}
		return v.Float64()
	}
	return nil, fmt.Errorf("%s cannot be put back", reflect.TypeOf(value))
}

// Holds says whether the JSON that this program writes has all that was told.
func Holds(written, told any) bool {
	var here, there any
	for _, one := range []struct {
		text any
		into *any
	}{{written, &here}, {told, &there}} {
		text, ok := one.text.(string)
		if !ok || json.Unmarshal([]byte(text), one.into) != nil {
			return false
		}
	}
	return within(there, here)
}

// within says whether each key of a stands in b.
func within(a, b any) bool {
	switch a := a.(type) {
	case map[string]any:
		b, ok := b.(map[string]any)
		for key, value := range a {
			there, known := b[key]
			if !known && value != nil && !isEmpty(value) || known && !within(value, there) {
				return false
			}
		}
		return ok
	case []any:
		b, ok := b.([]any)
		if !ok && len(a) == 0 {
			return true
		}
		for i, value := range a {
			if i >= len(b) || !within(value, b[i]) {
				return false
			}
		}
		return ok
	}
	return true
}

// isEmpty says whether a value of JSON says nothing, so that a program may leave its key out.
func isEmpty(v any) bool {
	switch v := v.(type) {
	case string:
		return v == ""
	case float64:
		return v == 0
	case bool:
		return !v
	case []any:
		return len(v) == 0
	case map[string]any:
		return len(v) == 0
	}
	return v == nil
}
