package desk

import (
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// Words typed on a page of single keys. Somebody who takes the keyboard for a scanner, or forgot that a page
// waits for one key, types a maker, a tag or a serial there. The first letter may have opened a page by then,
// since keys act at once; when the next letters come like a word and make the beginning of one that is known,
// that page is taken back and the word is looked up. What a key would write at once, it writes only alone.
const (
	// the longest wait between two letters of a word: slow typists need 400; of common practice
	typingGap   = 420 * time.Millisecond
	fewestTyped = 3 // letters, for a word to be one
)

// alone is a page with keys that need care: those that write at once act only when no other letter comes
// before or behind them (writes); those that lead to a page with an Enter that hurts act as the first of a
// row and never within one (hurts).
type alone interface {
	writes(key rune) bool
	hurts(key rune) bool
}

func (*home) writes(key rune) bool        { return key == 'q' }
func (*home) hurts(key rune) bool         { return key == 'u' }
func (*logged) writes(key rune) bool      { return key == 'a' }
func (*logged) hurts(rune) bool           { return false }
func (*machine) writes(key rune) bool     { return key == 'a' }
func (*machine) hurts(key rune) bool      { return strings.ContainsRune("spxu", key) }
func (*base) writes(key rune) bool        { return strings.ContainsRune("arg", key) }
func (*base) hurts(key rune) bool         { return strings.ContainsRune("spxu", key) }
func (*resume) writes(key rune) bool      { return key == 'x' }
func (*resume) hurts(rune) bool           { return false }
func (s *placePage) writes(key rune) bool { return s.result != nil && key == 'c' }
func (*placePage) hurts(rune) bool        { return false }

func (f *logForm) writes(key rune) bool { return f.at == "" && key == 'x' }
func (*logForm) hurts(rune) bool        { return false }

// A form that ends with an answer of one key writes at that key.
func (f *form) writes(rune) bool {
	return !f.complete && f.final == "" && f.asked[f.at].picks != nil && f.at == len(f.asked)-1
}
func (*form) hurts(rune) bool { return false }

func (d *Desk) writes(key rune) bool {
	a, ok := d.top().(alone)
	return ok && a.writes(key)
}

func (d *Desk) hurts(key rune) bool {
	a, ok := d.top().(alone)
	return ok && a.hurts(key)
}

// words are what a row of letters is held against.
type words struct {
	letters  string   // of the house's tags
	makers   []string // small letters, each with a blank before it
	prefixes []string // of serial numbers, as the tables have them
}

func (d *Desk) words() *words {
	w := &words{letters: d.Config.House.Letters}
	makers, err := d.KnownMakers(d.ctx)
	d.refuse(err)
	for _, m := range makers {
		w.makers = append(w.makers, " "+strings.ToLower(m))
	}
	tables, err := d.Tables()
	if err != nil {
		return w // whoever dates something is told
	}
	for _, file := range tables.Files() {
		for _, row := range file.Rows {
			if p := strings.ToUpper(row.Prefix); p != "" && !slices.Contains(w.prefixes, p) {
				w.prefixes = append(w.prefixes, p)
			}
		}
	}
	return w
}

// numbered is the shape of a serial, or of a tag of any house: two figures at least, so that one in a row of
// keys is none.
var numbered = regexp.MustCompile(`^[A-Z]{0,4}[0-9]{2,}[A-Z]?$`)

var (
	numberOnly  = regexp.MustCompile(`^[0-9.,]+$`)
	numberBegun = regexp.MustCompile(`^[A-Z]{0,4}[0-9]$`)
	tagEnd      = regexp.MustCompile(`^[0-9]+[0-9A-Z]?$`)
)

// begin says whether a known maker, a tag or a serial can begin like this. What does not, cannot when it is
// longer.
func (w *words) begin(row string) bool {
	low, up := strings.ToLower(row), strings.ToUpper(row)
	if strings.TrimSpace(row) == "" {
		return false
	}
	for _, m := range w.makers {
		if strings.Contains(m, " "+low) {
			return true
		}
	}
	for _, p := range w.prefixes {
		if strings.HasPrefix(p, up) {
			return true
		}
	}
	return w.ours(row) || strings.HasPrefix(w.letters, up) || numbered.MatchString(up) ||
		numberBegun.MatchString(up)
}

// ours says whether a tag of this house begins like this.
func (w *words) ours(row string) bool {
	rest, ours := strings.CutPrefix(strings.ToUpper(row), w.letters)
	return ours && tagEnd.MatchString(rest)
}

// isNumber tells a tag or serial from a name.
func (w *words) isNumber(row string) bool {
	return w.ours(row) || numbered.MatchString(strings.ToUpper(row))
}

// weigh decides about a row of letters whose first one has acted: it is a word, or the rest goes where the
// first one led; or it waits for the next letter.
func (d *Desk) weigh() {
	b := &d.burst
	_, first := utf8.DecodeRuneInString(b.text)
	n, rest := utf8.RuneCountInString(b.text), b.text[first:]
	if b.words == nil {
		b.words = d.words()
	}
	field := d.top().typing() != nil && !b.dead
	known := b.words.begin(b.text)
	if field && b.asksFigures() && numberOnly.MatchString(rest) && !b.words.ours(b.text) {
		known = false
	}
	switch {
	case known && n >= fewestTyped && (b.words.ours(b.text) || !(field && d.offered(rest))):
		d.takeWord()
	case known:
	case !field && b.wordy():
		if n >= fewestTyped {
			d.takeWord()
		}
	default:
		d.deliverRow()
	}
}

// asksFigures says that on this page a letter and figures behind it are an answer and the next, and no
// serial.
func (b *burst) asksFigures() bool {
	switch b.was.stack[len(b.was.stack)-1].(type) {
	case *form, *logForm:
		return true
	}
	return false
}

// wordy says that a row on this page is a word even if nobody knows it: its first letter does nothing there,
// or the page is one on which people go on to the next machine.
func (b *burst) wordy() bool {
	if b.dead {
		return true
	}
	_, label := b.was.stack[len(b.was.stack)-1].(*logged)
	return label
}

// offered says whether something that the page on top asks for begins like this.
func (d *Desk) offered(typed string) bool {
	if o, ok := d.top().(offerer); ok {
		for _, word := range o.offering().all {
			if strings.HasPrefix(strings.ToLower(word), strings.ToLower(typed)) {
				return true
			}
		}
	}
	_, any := d.top().(*find)
	return any && d.burst.words.begin(typed)
}

// deliverRow gives the letters behind the first to whatever the first one opened.
func (d *Desk) deliverRow() {
	b := &d.burst
	held := b.held
	b.held = nil
	for _, k := range held {
		key := letter(k)
		if d.top().typing() == nil && (d.writes(key) || d.hurts(key)) {
			d.say("%q was typed in a row. Press %s by itself, after a moment, if you mean it.", b.text,
				string(key))
			continue
		}
		d.deliver(k)
	}
	if d.top().typing() == nil {
		return
	}
	if f, ok := d.top().(*form); ok {
		f.hurried = true
	}
	d.burst = burst{}
}

// takeWord takes a row of letters as the word that it is: the maker of the next machine where its label has
// just been written, else something to look for.
func (d *Desk) takeWord() {
	b := d.burst
	d.burst = burst{}
	if b.was != nil {
		d.forget(b.was)
	}
	d.message = ""
	switch s := d.top().(type) {
	case *logged:
		if s.m == nil || b.words != nil && b.words.isNumber(b.text) {
			break
		}
		d.back()
		d.say("%s is logged. Tie its label on before you take the next one.", s.tag)
		s.next(d)
		if f, ok := d.top().(*logForm); ok && f.typing() != nil {
			f.field = edit(b.text)
			f.dirty = true
			f.offerKeys.narrow(b.text)
		}
		return
	case *find:
		s.picked, s.found.at, s.field = false, 0, edit(b.text)
		return
	}
	d.keep()
	d.push(&find{field: edit(b.text)})
	d.say("A word was typed, and no key pressed. Enter looks for it, Esc goes back.")
}

// meant says whether an Enter on a page that does something for good stands by itself: one that ends a word
// or a scan is not meant. Where it hurts, it must not come in the same breath as the key before it either.
func (d *Desk) meant(typed *bool, hurts bool) bool {
	was := *typed
	*typed = false
	switch {
	case was:
		d.say("That Enter ended what was typed, and did nothing. Press Enter once more, by itself, if you " +
			"mean it.")
		return false
	case hurts && (d.afterLetter && d.rested < typingGap || d.rested < 2*twice):
		d.say("Read this first. Press Enter, by itself, if you mean it.")
		return false
	}
	return true
}
