package fields

import (
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
)

// Text is one line.
func Text[T any](name, value, usage string, max int, at func(*T) *string) Of[T] {
	return Of[T]{Name: name, Value: value, Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = registry.CleanText(name, Last(v), max)
			return err
		},
		Get: func(rec *T) []string { return []string{*at(rec)} }}
}

// Lines is a text that may have several.
func Lines[T any](name, value, usage string, max int, at func(*T) *string) Of[T] {
	f := Text(name, value, usage, max, at)
	f.Set = func(rec *T, v []string) (err error) {
		*at(rec), err = registry.CleanLines(name, Last(v), max)
		return err
	}
	return f
}

// Word is one of a few words.
func Word[W ~string, T any](name, value, usage string, parse func(string) (W, error),
	at func(*T) *W) Of[T] {
	return Of[T]{Name: name, Value: value, Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = parse(Last(v))
			return err
		},
		Get: func(rec *T) []string { return []string{string(*at(rec))} }}
}

// Open is a word that may stay empty, since nobody has looked yet.
func Open[W ~string, T any](name, value, usage string, words []W, at func(*T) *W) Of[T] {
	return Word(name, value, usage, func(s string) (W, error) {
		if registry.Blank(s) {
			return "", nil
		}
		return registry.OneOf(name, s, words)
	}, at)
}

// Length is a measure, in millimetres unless a unit is typed; empty is not known.
func Length[T any](name, usage string, at func(*T) *measure.Length) Of[T] {
	return Of[T]{Name: name, Value: "MM", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = measure.ParseMeasure(name, Last(v))
			return err
		},
		Get: func(rec *T) []string { return []string{typedLength(*at(rec))} }}
}

// LengthByWidth is two measures with an x between them; empty is not known.
func LengthByWidth[T any](name, usage string, at func(*T) (length, width *measure.Length)) Of[T] {
	return Of[T]{Name: name, Value: "LxW", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			length, width := at(rec)
			*length, *width, err = measure.ParseLengthByWidth(name, Last(v))
			return err
		},
		Get: func(rec *T) []string {
			length, width := at(rec)
			if !length.Known() || !width.Known() {
				return []string{""}
			}
			return []string{typedLength(*length) + " x " + typedLength(*width)}
		}}
}

// Weight is in kilograms unless a unit is typed; empty is not known.
func Weight[T any](name, usage string, at func(*T) *measure.Mass) Of[T] {
	return Of[T]{Name: name, Value: "KG", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			if *at(rec) = 0; Last(v) != "" {
				*at(rec), err = measure.ParseMass(name, Last(v))
			}
			return err
		},
		Get: func(rec *T) []string {
			if *at(rec) == 0 {
				return []string{""}
			}
			return []string{at(rec).String()}
		}}
}

func typedLength(l measure.Length) string {
	if !l.Known() {
		return ""
	}
	return l.String()
}

// Years are years in which something was made or seen; there may be several.
func Years[T any](name, usage string, at func(*T) *registry.List[int]) Of[T] {
	return Of[T]{Name: name, Value: "YEAR", Usage: usage, Many: true,
		Set: func(rec *T, v []string) error {
			*at(rec) = nil
			for _, s := range v {
				if s == "" {
					continue
				}
				year, err := ParseYear(name, s)
				if err != nil {
					return err
				}
				*at(rec) = append(*at(rec), year)
			}
			return nil
		},
		Get: func(rec *T) []string {
			var out []string
			for _, y := range *at(rec) {
				out = append(out, strconv.Itoa(y))
			}
			return out
		}}
}

// ParseYear reads a year in which a sewing machine can have been made or seen.
func ParseYear(field, s string) (int, error) {
	year, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil || year < firstYear || year > lastYear {
		return 0, registry.Errorf(registry.Invalid,
			"%s %q is not a year: type four digits from %d to %d, such as 1926", field, s, firstYear,
			lastYear)
	}
	return year, nil
}

// ParseDay reads a day.
func ParseDay(field, s string) (string, error) {
	day := strings.TrimSpace(s)
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return "", registry.Errorf(registry.Invalid,
			"%s %q is not a day: type year, month and day, such as 2031-05-04", field, s).On(field)
	}
	return day, nil
}

// The first patent for a machine that sews is of 1790; a year past the last one was mistyped.
const (
	firstYear = 1790
	lastYear  = 2100
)
