package main

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"pitman/registry/fields"
	"pitman/registry/makers"
)

// settle asks of a word that is probably another; off a terminal the typed word counts, and the other is
// named. rows are those of a list in which it stands.
func (a *app) settle(q *asker, h makers.Hint, rows ...int) (string, error) {
	says := h.Says()
	for _, n := range rows {
		says += fmt.Sprintf(" (%s)", plural(n, "row"))
	}
	fmt.Fprintln(a.err, says)
	if !a.onTerminal() {
		return h.Typed, nil
	}
	var keys []string
	for i, name := range h.Choices() {
		keys = append(keys, fmt.Sprintf("%d %s", i+1, name))
	}
	for {
		answer, err := q.line(fmt.Sprintf("  %s; Enter keeps %s:", strings.Join(keys, ", "), h.Typed))
		if err != nil || answer == "" {
			return h.Typed, err
		}
		if n, err := strconv.Atoi(answer); err == nil && 1 <= n && n <= len(h.Choices()) {
			return h.Choices()[n-1], nil
		}
	}
}

// settleWord is settle for a word of a field, with what the house knows.
func (a *app) settleWord(ctx context.Context, q *asker, words *makers.Words, field, maker,
	typed string) (string, error) {
	h, ask, err := words.Hint(ctx, field, maker, typed)
	if err != nil || !ask {
		return typed, err
	}
	return a.settle(q, h)
}

// settleTyped asks of each word that was given of a record, in the order of asking.
func settleTyped[T any](ctx context.Context, a *app, d *workplace, table []fields.Of[T], given *T) error {
	words, q, maker := d.Words(), a.asker(), ""
	for _, name := range makers.Asked {
		field, known := fields.Named(table, name)
		if !known {
			continue
		}
		typed := fields.Last(field.Get(given))
		meant, err := a.settleWord(ctx, q, words, name, maker, typed)
		if err != nil {
			return err
		}
		if meant != typed {
			if err := field.Set(given, []string{meant}); err != nil {
				return err
			}
		}
		if name == "maker" {
			maker = meant
		}
	}
	return nil
}

// settleCorrected asks of the words that a correction gives a record, before anything is held for writing.
// What stood there already, or is not corrected, is not asked.
func settleCorrected[T any](ctx context.Context, a *app, d *workplace, table []fields.Of[T], was *T,
	correct func(*T) error) (func(*T) error, error) {
	var typed T
	if err := correct(&typed); err != nil {
		return nil, err
	}
	words, q, meant := d.Words(), a.asker(), map[string]string{}
	for _, name := range makers.Asked {
		field, known := fields.Named(table, name)
		if !known {
			continue
		}
		word := fields.Last(field.Get(&typed))
		if word == "" || word == fields.Last(field.Get(was)) {
			continue
		}
		maker, _ := fields.Named(table, "maker")
		of := cmp.Or(meant["maker"], fields.Last(maker.Get(was)))
		settled, err := a.settleWord(ctx, q, words, name, of, word)
		if err != nil {
			return nil, err
		}
		meant[name] = settled
	}
	return func(rec *T) error {
		if err := correct(rec); err != nil {
			return err
		}
		for name, word := range meant {
			field, _ := fields.Named(table, name)
			if err := field.Set(rec, []string{word}); err != nil {
				return err
			}
		}
		return nil
	}, nil
}
