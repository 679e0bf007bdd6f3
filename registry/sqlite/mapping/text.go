package mapping

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
)

// Literals writes values down for an INSERT: what is empty, as most of a machine's columns are, stands in the
// text, and the rest are its parameters. To hand a parameter over takes longer than to store it.
func Literals(values []any) (text string, args []any) {
	out := make([]byte, 0, 3*len(values))
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

// Changes is a change as it stands in the history: what json.Marshal makes of it, which takes several times
// as long for texts in which nothing has to be escaped.
func Changes(fields map[string][2]any) (string, error) {
	var out []byte
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
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		out = append(append(append(out, `,"`...), name...), `":[`...)
		if err := value(fields[name][0]); err != nil {
			return "", err
		}
		out = append(out, ',')
		if err := value(fields[name][1]); err != nil {
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
