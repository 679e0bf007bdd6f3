package makers

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"pitman/registry/near"
	"pitman/registry/orders"
	"pitman/registry/partners"
	"pitman/registry/stock"
)

// Asked are the fields of a machine or base whose words are mostly known ones, in the order of asking.
var Asked = []string{"maker", "model", "donor", "place"}

// Hint is what to ask of a word that was typed. It never replaces what was typed.
type Hint struct {
	Field, Typed string
	Near         string   // the known word that it is a slip away from
	Badge        []string // the makers that sold machines under it, when they are several
}

// Says tells the hint to a person.
func (h Hint) Says() string {
	if len(h.Badge) > 0 {
		return "badge " + strconv.Quote(h.Typed) + " is on machines of " + strings.Join(h.Badge, " and ") +
			": say which maker it is, if you know"
	}
	return h.Field + " " + strconv.Quote(h.Typed) + " is new here: is it " + h.Near + "?"
}

// Choices are the words that may be meant.
func (h Hint) Choices() []string {
	if len(h.Badge) > 0 {
		return h.Badge
	}
	return []string{h.Near}
}

// Words says of many words what to ask of each: what is known of a field is read once.
type Words struct {
	w      *Makers
	makers func(typed string) (Hint, bool)
	known  map[string]near.Known // with those
	also   map[string][]string   // what stands again and again in the same list
}

// Words looks at what the house knows from now on.
func (w *Makers) Words() *Words {
	return &Words{w: w, known: map[string]near.Known{}, also: map[string][]string{}}
}

// Also takes a word as known from now on, as one that stands in the same list again and again.
func (k *Words) Also(field, maker, word string) {
	at := wordsOf(field, maker)
	k.also[at] = append(k.also[at], word)
	if known, read := k.known[at]; read {
		known.Add(word)
		k.known[at] = known
	}
}

// wordsOf names the words that one is held against: a model is one of its maker's.
func wordsOf(field, maker string) string {
	if field == "model" {
		field += " " + stock.MakerKey(maker)
	}
	return field
}

// Hint says what to ask of a word in a field; ok is false when there is nothing to ask.
func (k *Words) Hint(ctx context.Context, field, maker, typed string) (h Hint, ok bool, err error) {
	typed = strings.TrimSpace(typed)
	switch {
	case typed == "" || field != "partner" && !slices.Contains(Asked, field):
		return Hint{}, false, nil
	case field == "maker":
		if k.makers == nil {
			if k.makers, err = k.w.hinting(ctx); err != nil {
				return Hint{}, false, err
			}
		}
		if h, ok = k.makers(typed); ok {
			return h, ok, nil
		}
		like := likeMaker(k.also["maker"], typed)
		return Hint{Field: field, Typed: typed, Near: like}, like != "", nil
	}
	at := wordsOf(field, maker)
	known, there := k.known[at]
	if !there {
		words, err := k.w.knownWords(ctx, field, maker)
		if err != nil {
			return Hint{}, false, err
		}
		known.Add(append(words, k.also[at]...)...)
		k.known[at] = known
	}
	like := known.Name(typed)
	return Hint{Field: field, Typed: typed, Near: like}, like != "", nil
}

// hinting is what to ask of makers.
func (w *Makers) hinting(ctx context.Context) (func(typed string) (Hint, bool), error) {
	known, err := w.Intake.KnownMakers(ctx)
	if err != nil {
		return nil, err
	}
	cast, err := w.ofBases(ctx, func(b *stock.Base) string { return b.Maker })
	if err != nil {
		return nil, err
	}
	known = append(known, cast...)
	tables, err := w.Intake.Tables()
	if err != nil {
		return nil, err
	}
	return HintFrom(tables, known), nil
}

// knownWords are the words of a field: what stands on machines, bases and orders.
func (w *Makers) knownWords(ctx context.Context, field, maker string) (known []string, err error) {
	switch field {
	case "model":
		return w.Intake.KnownModels(ctx, &stock.Machine{Maker: maker})
	case "partner":
		err = w.Store.View(ctx, func(r stock.Reader) error {
			list, err := partners.All(r)
			for _, p := range list {
				known = append(known, p.Name)
			}
			if err != nil {
				return err
			}
			taken, err := orders.All(r, "")
			for _, o := range taken {
				known = append(known, o.Partner)
			}
			return err
		})
		return known, err
	}
	if known, err = w.Intake.Used(ctx, stock.Column(field), ""); err != nil {
		return nil, err
	}
	of, err := w.ofBases(ctx, func(b *stock.Base) string {
		return map[string]string{"donor": b.Donor, "place": b.Place}[field]
	})
	return append(known, of...), err
}

// ofBases are the words in one field of bases.
func (w *Makers) ofBases(ctx context.Context, field func(*stock.Base) string) (words []string, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		var b stock.Base
		return r.Each(&b, func() error {
			if word := field(&b); word != "" {
				words = append(words, word)
			}
			return nil
		})
	})
	return words, err
}
