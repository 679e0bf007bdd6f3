package mapping

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
)

// Literals writes values down for an INSERT: what is empty, as most of a machine's columns are, stands in the
// text, and the rest are its parameters. To hand a parameter over takes longer than to store it.
func Literals(values []any) (text string, args []any) {
	out := make([]byte, 0, 6*len(values)) // as long as it becomes, if all is NULL
	args = make([]any, 0, len(values))
	for i, v := range values {
		if i > 0 {
			out = append(out, ", "...)
		}
		switch v {
		case nil:
			out = append(out, "NULL"...)
		case "":
			out = append(out, "''"...)
		case int64(0):
			out = append(out, '0')
		case "[]":
			out = append(out, "'[]'"...)
		default:
			out = append(out, '?')
			args = append(args, v)
		}
	}
	return string(out), args
}

// Field is what a change does to one column.
type Field struct {
	Name string
	Was  any // nil where the record is made
	Now  any
}

// Changes is a change as it stands in the history: what json.Marshal makes of a map by names, which takes
// several times as long for texts in which nothing has to be escaped.
func Changes(fields []Field) (string, error) {
	byName := func(a, b Field) int { return strings.Compare(a.Name, b.Name) }
	if !slices.IsSortedFunc(fields, byName) {
		fields = slices.SortedFunc(slices.Values(fields), byName)
	}
	out := make([]byte, 0, 32*len(fields)+256)
	value := func(v any) error {
		switch v := v.(type) {
		case nil:
			out = append(out, "null"...)
			return nil
		case int64:
			out = strconv.AppendInt(out, v, 10)
			return nil
		case string:
			if plain(v) {
				out = append(append(append(out, '"'), v...), '"')
				return nil
			}
		}
		text, err := json.Marshal(v)
		out = append(out, text...)
		return err
	}
	for _, f := range fields {
		out = append(append(append(out, `,"`...), f.Name...), `":[`...)
		if err := value(f.Was); err != nil {
			return "", err
		}
		out = append(out, ',')
		if err := value(f.Now); err != nil {
			return "", err
		}
		out = append(out, ']')
	}
	if len(out) == 0 {
		return "{}", nil
	}
	out[0] = '{'
	return string(append(out, '}')), nil
}

// plain says that JSON writes the text as it is.
func plain(text string) bool {
	for i := range len(text) {
		switch c := text[i]; {
		case c < ' ', c >= 0x7f, c == '"', c == '\\', c == '<', c == '>', c == '&':
			return false
		}
	}
	return true
}
