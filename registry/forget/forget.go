// Package forget puts a person's name out of a house for good: out of its records and of their history. What
// was done stays, with who did it and when; only the name is gone, and nothing brings it back.
package forget

import (
	"context"
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"pitman/registry"
	"pitman/registry/near"
	"pitman/registry/partners"
	"pitman/registry/stock"
)

// Forgetting is the room.
type Forgetting struct{ *stock.Stock }

// Who is to be forgotten, by the one place where the name must stand. It is put out wherever it stands.
type Who struct{ Donor, Contact, Name string }

// Forgotten says what was put out, or would be.
type Forgotten struct {
	Records  int       `json:"records"`     // texts as the records say them
	Lines    int       `json:"lines"`       // texts of the history
	Subjects []string  `json:"subjects"`    // whose they are
	Since    time.Time `json:"since"`       // when the first of them was recorded
	Open     []string  `json:"stands_in"`   // where the name stands still: a place, a maker
	Settings []int     `json:"house_toml"`  // lines of house.toml in which it stands still
	Houses   []string  `json:"told_houses"` // that some of it was handed to
	Preview  bool      `json:"preview"`
}

// minName is the shortest name: a letter stands everywhere.
const minName = 3

// Forget puts the name out of all texts that it can stand in. A donor or contact with that name becomes
// empty; of any other text the records keep what else it says. The texts of before are put out whole.
func (w *Forgetting) Forget(ctx context.Context, by registry.Initials, who Who,
	preview bool) (f Forgotten, err error) {
	field, name, err := who.given()
	if err != nil {
		return f, err
	}
	if !preview {
		if err := registry.OnField("by", w.Config.House.Decides(by, "who is forgotten")); err != nil {
			return f, err
		}
	}
	looked := errors.New("looked")
	run := func(tx stock.Tx) error {
		if err := stock.NoneComingIn(tx); err != nil { // the name may stand there
			return err
		}
		if err := w.borne(tx, field, name); err != nil {
			return err
		}
		found, err := tx.Forget(cutter(name))
		if err != nil {
			return err
		}
		if found.Records+found.Lines == 0 && len(found.Open) == 0 && len(found.Settings) > 0 {
			return registry.Errorf(registry.Conflict,
				"name %q stands in house.toml alone (line %d), and nothing was put out: take it out of that "+
					"file, then forget it; what the file said before is put out then", name,
				found.Settings[0]).On(field)
		}
		if found.Records+found.Lines == 0 && len(found.Open) > 0 {
			return registry.Errorf(registry.Conflict,
				"name %q stands only where no name belongs, and nothing was put out (%s): correct that; "+
					"its history keeps it",
				name, registry.FirstFew(found.Open)).On(field)
		}
		if found.Records+found.Lines == 0 {
			return registry.Errorf(registry.NotFound,
				"name %q stands in no text of this house: give it as it was typed", name).On(field)
		}
		f = Forgotten{Records: found.Records, Lines: found.Lines,
			Subjects: append([]string{}, found.Subjects...),
			Open:     append([]string{}, found.Open...), Settings: append([]int{}, found.Settings...),
			Houses: []string{}, Preview: preview}
		if f.Since, err = time.Parse(time.RFC3339, found.Since); err != nil {
			return err
		}
		if err := f.handed(tx); err != nil || !preview {
			return err
		}
		return looked
	}
	if !preview {
		return f, w.Act(ctx, by, registry.VerbForget, "", run)
	}
	a := &registry.Action{At: w.Now().UTC(), By: registry.Itself, Verb: registry.VerbForget}
	if err = w.Store.Update(ctx, a, run); errors.Is(err, looked) {
		err = nil
	}
	return f, err
}

// given is the one name that was given, and how.
func (who Who) given() (field, name string, err error) {
	for _, g := range []struct{ field, name string }{{"donor", who.Donor}, {"contact", who.Contact},
		{"name", who.Name}} {
		switch {
		case g.name == "":
		case name != "":
			return "", "", registry.Errorf(registry.Invalid,
				"%s and %s were given: one name is forgotten at a time", field, g.field).On(g.field)
		default:
			field, name = g.field, g.name
		}
	}
	if name, err = registry.CleanText(field, name, registry.MaxName); err != nil {
		return "", "", err
	}
	if n := utf8.RuneCountInString(name); n < minName {
		return "", "", registry.Errorf(registry.Invalid,
			"%s %q is too short to be told from other words: give the whole name", field, name).On(field)
	}
	return field, name, nil
}

// borne refuses a donor or contact of a name that none has, with the nearest one.
func (w *Forgetting) borne(r stock.Reader, field, name string) error {
	var known []string
	switch field {
	case "donor":
		var m stock.Machine
		if err := r.Each(&m, func() error { known = append(known, m.Donor); return nil }); err != nil {
			return err
		}
		var b stock.Base
		if err := r.Each(&b, func() error { known = append(known, b.Donor); return nil }); err != nil {
			return err
		}
	case "contact":
		var p partners.Partner
		if err := r.Each(&p, func() error { known = append(known, p.Contact); return nil }); err != nil {
			return err
		}
	default:
		return nil
	}
	is := cutter(name)
	if slices.ContainsFunc(known, func(text string) bool { _, found := is(field, text); return found }) {
		return nil
	}
	slices.Sort(known)
	if like := near.Name(slices.Compact(known), name); like != "" {
		return registry.Errorf(registry.NotFound, "%s %q is in no record: is it %q?", field, name,
			like).On(field)
	}
	return registry.Errorf(registry.NotFound,
		"%s %q is in no record: give it as it stands there; a name that stands in notes, or in what was "+
			"undone, is given as such",
		field, name).On(field)
}

// handed lists the houses that have machines of these with their history.
func (f *Forgotten) handed(r stock.Reader) error {
	for _, subject := range f.Subjects {
		tag, err := registry.ParseTag(subject)
		if err != nil {
			continue // an order, a partner
		}
		to := ""
		switch m, b, err := stock.HeadOrBase(r, tag); {
		case registry.CodeOf(err) == registry.NotFound: // its logging was taken back
		case err != nil:
			return err
		case m != nil:
			to = m.HandedTo
		default:
			to = b.HandedTo
		}
		if to != "" && !slices.Contains(f.Houses, to) {
			f.Houses = append(f.Houses, to)
		}
	}
	return nil
}

// gone stands where a name stood.
const gone = "…"

// cutter finds a name wherever it stands as words of its own, however it is spaced, in whatever case, and
// whether its accents are letters or marks: nobody sees the difference.
func cutter(name string) func(column, text string) (rest string, found bool) {
	var words []string
	for _, word := range strings.Fields(name) {
		words = append(words, spelt(word))
	}
	pattern := regexp.MustCompile(`(?i)` + strings.Join(words, `[\s\p{Z}]+`))
	least := len(norm.NFC.String(name)) / 2
	return func(column, text string) (rest string, found bool) {
		switch {
		case len(text) < least:
			return text, false
		case text[0] == '{' && json.Valid([]byte(text)): // a paper as it was issued
			rest = quoted.ReplaceAllStringFunc(text, func(one string) string {
				var plain string
				if json.Unmarshal([]byte(one), &plain) == nil {
					if plain, is := cut(pattern, plain); is {
						again, _ := json.Marshal(plain) // a text always can
						one, found = string(again), true
					}
				}
				return one
			})
		default:
			rest, found = cut(pattern, text)
		}
		if found && (column == "donor" || column == "contact") {
			return "", true // what else stands there is of the same person
		}
		return rest, found
	}
}

// quoted is a text in JSON.
var quoted = regexp.MustCompile(`"(?:[^"\\]|\\.)*"`)

// spelt is the pattern of a word with each accented letter in either form.
func spelt(word string) (pattern string) {
	var letters norm.Iter
	letters.InitString(norm.NFC, word)
	for !letters.Done() {
		one := string(letters.Next())
		pattern += "(?:" + regexp.QuoteMeta(norm.NFD.String(one)) + "|" + regexp.QuoteMeta(one) + ")"
	}
	return pattern
}

func cut(pattern *regexp.Regexp, text string) (rest string, found bool) {
	var out strings.Builder
	done := 0
	for at := 0; at < len(text); {
		span := pattern.FindStringIndex(text[at:])
		if span == nil {
			break
		}
		from, to := at+span[0], at+span[1]
		before, _ := utf8.DecodeLastRuneInString(text[:from])
		after, _ := utf8.DecodeRuneInString(text[to:])
		if partOfWord(before) || partOfWord(after) {
			_, size := utf8.DecodeRuneInString(text[from:])
			at = from + size
			continue
		}
		out.WriteString(text[done:from] + gone)
		done, at, found = to, to, true
	}
	return out.String() + text[done:], found
}

func partOfWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) }
