// Package fields is how what people type gets into a record, and out again. A record has one table of fields;
// flags, questions, pages, imports, exports and the history are all served by it, so that a value is read and
// refused alike wherever it is typed.
//
// What a field gives by Get is what Set takes: a form that is opened and saved untouched changes nothing. An
// empty value is not known yet, which is no value of its own.
package fields

import (
	"regexp"
	"slices"
	"strings"
)

// Of is one thing that people type about a kind of record. The same table serves flags, questions and
// spreadsheets.
type Of[T any] struct {
	Name  string // its flag and its column
	Value string // what the value is called in a usage line
	Usage string
	Many  bool // may be given several times
	Set   func(rec *T, values []string) error
	Get   func(rec *T) []string
}

// Named finds a field of a table by its name.
func Named[T any](table []Of[T], name string) (field Of[T], known bool) {
	i := slices.IndexFunc(table, func(f Of[T]) bool { return f.Name == name })
	if i < 0 {
		return field, false
	}
	return table[i], true
}

// thousands is a comma that parts the thousands of a number.
var thousands = regexp.MustCompile(`(\d),(\d{3})\b`)

// SplitMany parts what is typed in one line for a field that may have several values, by commas and
// semicolons. A comma within a number, as in US 208,838, parts nothing.
func SplitMany(typed string) (values []string) {
	const kept = "\x00"
	for last := ""; last != typed; {
		last, typed = typed, thousands.ReplaceAllString(typed, "${1}"+kept+"${2}")
	}
	for _, v := range strings.FieldsFunc(typed, func(r rune) bool { return r == ',' || r == ';' }) {
		values = append(values, strings.ReplaceAll(v, kept, ","))
	}
	return values
}

// Last is what counts of a field that was given several times and may have one value.
func Last(values []string) string {
	if len(values) == 0 {
		return ""
	}
	return values[len(values)-1]
}
