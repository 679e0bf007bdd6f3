package house_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/fields"
	"pitman/registry/kinds"
	"pitman/registry/mains"
	"pitman/registry/money"
	"pitman/registry/orders"
	"pitman/registry/pictures"
	"pitman/registry/reports"
	"pitman/registry/shelf"
	"pitman/registry/stock"
	"pitman/registry/work"
)

// readsAgain fuzzes a parser of what people type: what it refuses is their fault and gives nothing, and what
// it took is taken again as it is.
func readsAgain(f *testing.F, parse func(string) (string, error), holds func(*testing.T, string),
	seeds ...string) {
	for _, seed := range append(seeds, "", " ", "\x00", "\xff", "架子") {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		got, err := parse(typed)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err), "%q", typed)
			require.Empty(t, got)
			return
		}
		again, err := parse(got)
		require.NoError(t, err, "%q became %q", typed, got)
		require.Equal(t, got, again, "%q", typed)
		holds(t, got)
	})
}

func FuzzParseDay(f *testing.F) {
	readsAgain(f, func(s string) (string, error) { return fields.ParseDay("due", s) },
		func(t *testing.T, day string) {
			_, err := time.Parse(time.DateOnly, day)
			require.NoError(t, err)
		}, "2032-03-01", " 2032-02-29 ", "2031-02-29", "1-1-1", "2032-3-1")
}

func FuzzParseSubject(f *testing.F) {
	parse := func(s string) (string, error) {
		subject, err := kinds.ParseSubject(s)
		return string(subject), err
	}
	readsAgain(f, parse,
		func(t *testing.T, subject string) { require.Regexp(t, `^[A-Z]+[0-9]+[0-9A-Z]?$`, subject) },
		"PM16", "ord 3", "3", "partner1", "PLEDGE02", " taking7 ", "SHIPMENT9", "SHIPMENT0")
}

func FuzzParseOrder(f *testing.F) {
	readsAgain(f, orders.ParseOrder, func(t *testing.T, number string) {
		require.Regexp(t, `^ORD[1-9][0-9]*$`, number)
	}, "ORD12", "12", "ord0012", "ORD0", "1234567890", "ORD")
}

func FuzzParseCurrency(f *testing.F) {
	readsAgain(f, money.ParseCurrency,
		func(t *testing.T, code string) { require.Regexp(t, `^[A-Z]{3}$`, code) }, "EUR", "eur ", "EURO",
		"ıab", "ſ")
}

func FuzzParseInitials(f *testing.F) {
	parse := func(s string) (string, error) {
		by, err := registry.ParseInitials(s)
		listed := []string{s}
		if e := registry.ParsePeople("people", listed); (e == nil) != (err == nil) || err == nil &&
			!by.In(listed) {
			return "", fmt.Errorf("in a list %q is read as %q: %w", s, listed, e)
		}
		return string(by), err
	}
	readsAgain(f, parse, func(t *testing.T, by string) { require.LessOrEqual(t, len([]rune(by)), 5) }, "QX",
		"qx2", "QX22", "ß", "ŉ", "ÄÖ9")
}

func FuzzParsePlace(f *testing.F) {
	readsAgain(f, shelf.ParsePlace, func(t *testing.T, place string) { require.NotEmpty(t, place) }, "bay 2",
		" shelf\t3", "PM16", "\u202eyab")
}

func FuzzParseYear(f *testing.F) {
	parse := func(s string) (string, error) {
		year, err := fields.ParseYear("seen", s)
		if err != nil {
			return "", err
		}
		return strconv.Itoa(year), nil
	}
	readsAgain(f, parse, func(t *testing.T, year string) { require.Len(t, year, 4) }, "1926", "+1926",
		"01926", "1789", "2101", "c.1909")
}

func FuzzParsePlug(f *testing.F) {
	parse := func(s string) (string, error) { return electrical.ParsePlug(s) }
	readsAgain(f, parse, func(t *testing.T, plug string) { require.Regexp(t, `^[A-O]?$`, plug) }, "G", "g ",
		"P", "GG")
}

func FuzzParseID(f *testing.F) {
	parse := func(s string) (string, error) {
		_, id, err := work.ParseID(s)
		return id, err
	}
	readsAgain(f, parse,
		func(t *testing.T, id string) { require.Regexp(t, `^ORD[1-9][0-9]*-[1-9][0-9]*$`, id) },
		"ORD1-3", "1-3", " ord01-03 ", "ORD1", "1--3", "9-9999999999")
}

func FuzzParseImportID(f *testing.F) {
	readsAgain(f, stock.ParseImportID, func(t *testing.T, id string) {
		require.LessOrEqual(t, utf8.RuneCountInString(id), registry.MaxName)
	}, "A-17", "row 3", strings.Repeat("x", registry.MaxName+1), "\u202e17")
}

// parserOf is a parser of a word of a closed list, with the words.
func parserOf[T ~string](parse func(string) (T, error), words ...T) func(*testing.T, string) {
	return func(t *testing.T, typed string) {
		got, err := parse(typed)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err), "%q", typed)
			require.Empty(t, got)
			return
		}
		require.Contains(t, words, got, "%q", typed)
	}
}

// What is one of a few words gives one of them, or a refusal.
func FuzzParseWord(f *testing.F) {
	for _, seed := range []string{"hand", "Electric ", "READY", "chain", "open", "tester", "whole", "motor",
		"fitted", "failed", "", "rea\x00dy", "ſhipped", "电"} {
		f.Add(seed)
	}
	parsers := []func(*testing.T, string){
		parserOf(registry.ParseDrive, registry.Drives...),
		parserOf(registry.ParseStage, registry.Stages...),
		parserOf(registry.ParseStitch, registry.Stitches...),
		parserOf(orders.ParseOrderState, orders.OrderOpen, orders.OrderShipped, orders.OrderCancelled),
		parserOf(reports.ParseRole, reports.Roles...),
		parserOf(pictures.ParseShows, pictures.Shows...),
		parserOf(mains.ParsePart, mains.Kinds...),
		parserOf(mains.ParseState, mains.Fitted, mains.Off, mains.Unknown, mains.Never),
	}
	f.Fuzz(func(t *testing.T, typed string) {
		for _, parse := range parsers {
			parse(t, typed)
		}
	})
}
