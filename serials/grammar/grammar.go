// Package grammar reads serial numbers of makers whose way of writing them is known: letters behind the
// number, fixed widths, separators that matter, letters that spell the year.
//
// A form says what stands where, each place by a small letter; whatever else stands in it is stamped as it
// is:
//
//	n  a figure of the number             a  a letter of the prefix, before or behind the number
//	d  a figure that belongs to the prefix
//	y  a letter or figure of the year     m  of the month     w  of the works
//
// A place with + behind it may be there several times. A mark (- / .) is a separator that is part of the
// number. A backslash makes a small letter stand for itself.
package grammar

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// Form is a way of writing serial numbers, ready to read them.
type Form struct {
	table.Form
	tokens       []token
	plain, exact *regexp.Regexp // without separators, and with them
	prefix       *regexp.Regexp // the prefixes that rows of it can have
	number       int            // the place of the number among the tokens
}

// token is one or more places of one kind.
type token struct {
	kind   rune // n a d y m w; - a separator; 0 what is stamped as it is
	text   string
	least  int
	more   bool // may go on
	needed bool // a separator without which the parts cannot be told
	counts bool // it is part of the prefix
}

// New compiles a form. The error is one sentence that says what is wrong with it.
func New(row table.Form) (*Form, error) {
	f := &Form{Form: row, number: -1}
	if err := f.parse(); err != nil {
		return nil, err
	}
	if err := f.spelt(); err != nil {
		return nil, err
	}
	for i := range f.tokens {
		t := &f.tokens[i]
		t.counts = strings.ContainsRune("ad\x00", t.kind)
		if t.kind == '-' {
			t.needed, t.counts = f.vague(i), f.parts(i)
		}
	}
	exact, plain, before, behind := "", "", "", ""
	for i, t := range f.tokens {
		part := t.pattern()
		switch {
		case t.kind != '-':
			exact, plain = exact+"("+part+")", plain+"("+part+")"
		case t.needed:
			exact, plain = exact+"(-)", plain+"(-)"
		default:
			exact, plain = exact+"(-?)", plain+"()"
		}
		switch {
		case !t.counts:
		case i < f.number:
			before += part
		default:
			behind += part
		}
	}
	if f.figuresLast() {
		before += "-"
	}
	if behind != "" {
		behind = `\*` + behind
	}
	f.exact, f.plain = regexp.MustCompile("^"+exact+"$"), regexp.MustCompile("^"+plain+"$")
	f.prefix = regexp.MustCompile("^" + before + behind + "$")
	return f, nil
}

func (f *Form) bad(format string, args ...any) error {
	return fmt.Errorf("form %s "+format, append([]any{stamp.Quoted(f.Form.Form)}, args...)...)
}

func (f *Form) parse() error {
	quoted := false
	for _, r := range f.Form.Form {
		last := len(f.tokens) - 1
		switch {
		case quoted:
			quoted = false
			f.tokens = append(f.tokens, token{text: f.cased(string(r)), least: 1})
		case r == '\\':
			quoted = true
		case r == '+':
			if last < 0 || !strings.ContainsRune("nad", f.tokens[last].kind) {
				return f.bad("has a + that follows no n, a or d: write n+ for one or more figures")
			}
			f.tokens[last].more = true
		case strings.ContainsRune("nadymw", r):
			if last >= 0 && f.tokens[last].kind == r && !f.tokens[last].more {
				f.tokens[last].least++
				break
			}
			f.tokens = append(f.tokens, token{kind: r, least: 1})
		case unicode.IsLower(r):
			return f.bad("has %q in it: places are n, a, d, y, m and w; write \\%c where that very letter is "+
				"stamped", r, r)
		case stamp.Separator(r):
			f.tokens = append(f.tokens, token{kind: '-', text: string(r)})
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			f.tokens = append(f.tokens, token{text: string(r), least: 1})
		default:
			return f.bad("has %q in it, which no serial number has", r)
		}
	}
	numbers, all := 0, 0
	for i, t := range f.tokens {
		all += t.least
		if t.kind == 'n' {
			f.number = i
			numbers++
		}
	}
	switch {
	case numbers != 1:
		return f.bad("must have its number in one piece: write n for each figure, or n+")
	case f.tokens[f.number].least > stamp.MaxDigits || all > stamp.MaxSerial:
		return f.bad("is longer than a serial number can be")
	}
	return nil
}

func (f *Form) cased(s string) string {
	if f.KeepsCase {
		return s
	}
	return strings.ToUpper(s)
}

// spelt looks whether the values that the row gives are those that the form needs.
func (f *Form) spelt() error {
	has := map[rune]bool{}
	for _, v := range f.Values {
		kind := kindOf(v)
		has[kind] = true
		if !strings.ContainsRune(f.Form.Form, kind) {
			return f.bad("has no place %c for what %s spells", kind, stamp.Quoted(v.Written))
		}
	}
	for _, t := range f.tokens {
		switch {
		case t.kind == 'w' && !has['w']:
			return f.bad("has the works in it: say under values which, such as N=North works")
		case t.kind == 'm' && !has['m'] && t.least != 2:
			return f.bad("has the month in it: say under values which, such as A=January, or write mm for " +
				"two figures")
		case t.kind == 'y' && !has['y'] && t.least == 2 && (f.From == 0 || f.To == 0):
			return f.bad("has two figures of the year in it: give from and to, so that the century is known")
		case t.kind == 'y' && !has['y'] && t.least != 2 && t.least != 4:
			return f.bad("has the year in it: say under values which, such as A=1920; B=1921")
		}
	}
	return nil
}

// vague says whether what stands round a separator could not be told apart without it.
func (f *Form) vague(i int) bool { return i > 0 && f.tokens[i-1].more }

// parts says whether a separator parts pieces of the prefix, or the prefix from the number.
func (f *Form) parts(i int) bool {
	counts := func(t token) bool { return strings.ContainsRune("ad\x00", t.kind) }
	if i < f.number {
		return slices.ContainsFunc(f.tokens[:i], counts)
	}
	return slices.ContainsFunc(f.tokens[f.number+1:i], counts) && slices.ContainsFunc(f.tokens[i+1:], counts)
}

// figuresLast says whether figures of the prefix stand right before the number: a separator is then put
// between them, so that the two can be told apart.
func (f *Form) figuresLast() bool {
	last := token{kind: 'a'}
	for _, t := range f.tokens[:f.number] {
		if t.counts {
			last = t
		}
	}
	return last.kind == 'd' || last.kind == 0 && unicode.IsDigit([]rune(last.text)[0])
}

// pattern is a regular expression for the token; a worn character may stand for any.
func (t token) pattern() string {
	class := map[rune]string{'n': `[0-9?]`, 'd': `[0-9?]`, 'a': `[\p{L}?]`, 'y': `[\p{L}0-9?]`,
		'm': `[\p{L}0-9?]`, 'w': `[\p{L}0-9?]`}[t.kind]
	switch {
	case t.kind == '-':
		return "-"
	case t.kind == 0:
		return "(?:" + regexp.QuoteMeta(t.text) + `|\?)`
	case t.more:
		return fmt.Sprintf("%s{%d,}", class, t.least)
	}
	return fmt.Sprintf("%s{%d}", class, t.least)
}

// Reading is a serial number as a form reads it.
type Reading struct {
	Key   string     // prefix and number as the rows have them; an * parts letters behind the number
	Shown string     // as it is stamped
	Years years.Span // what the letters of the year leave; open when they say nothing
	Works string
	Tells string // what its letters spell, for a person
}

// Read reads what was typed by the form; ok is false when it is not of that form.
func (f *Form) Read(typed string) (r Reading, ok bool) {
	text := stamp.WithMarks(typed, f.KeepsCase)
	part := f.exact.FindStringSubmatch(text)
	if part == nil {
		part = f.plain.FindStringSubmatch(strings.ReplaceAll(text, "-", ""))
	}
	if part == nil {
		return Reading{}, false
	}
	before, behind, number := "", "", ""
	for i, t := range f.tokens {
		said := part[i+1]
		switch t.kind {
		case 'n':
			number = said
		case 'y', 'm', 'w':
			if !f.spells(&r, t, said) {
				return Reading{}, false
			}
		case '-':
			said = t.text
		}
		as := said
		if t.kind == '-' {
			as = "-"
		}
		switch {
		case !t.counts:
		case i < f.number:
			before += as
		default:
			behind += as
		}
		r.Shown += said
	}
	if f.figuresLast() {
		before += "-"
	}
	if behind != "" {
		behind = "*" + behind
	}
	r.Key = stamp.DropZeros(before + behind + number)
	if len(r.Key)-stamp.LastLetter(r.Key)-1 > stamp.MaxDigits {
		return Reading{}, false
	}
	return r, true
}

// spells takes in what letters or figures mean; false when they mean nothing in this form.
func (f *Form) spells(r *Reading, t token, said string) bool {
	if stamp.Worn(said) {
		return true
	}
	var meant []table.Value
	listed := false
	for _, v := range f.Values {
		if kindOf(v) != t.kind {
			continue
		}
		listed = true
		if f.cased(v.Written) == said {
			meant = append(meant, v)
		}
	}
	if !listed {
		meant = figures(t, said, f.From, f.To)
	}
	var told []string
	for i, v := range meant {
		switch t.kind {
		case 'y':
			one := years.Span{From: v.Year, To: v.Year}
			if i > 0 {
				one = one.Hull(r.Years)
			}
			r.Years = one
			told = append(told, v.Year.String())
		case 'm':
			told = append(told, time.Month(v.Month).String())
		case 'w':
			r.Works = v.Works
			told = append(told, v.Works)
		}
	}
	if r.Tells != "" {
		r.Tells += ", "
	}
	r.Tells += said + " stands for " + strings.Join(told, " or ")
	return len(meant) > 0
}

func kindOf(v table.Value) rune {
	switch {
	case v.Year != 0:
		return 'y'
	case v.Month != 0:
		return 'm'
	}
	return 'w'
}

// figures reads the year or the month where figures spell it out.
func figures(t token, said string, from, to years.Year) (meant []table.Value) {
	n, ok := stamp.ParseNumber(said)
	switch {
	case !ok:
	case t.kind == 'm' && 1 <= n && n <= 12:
		meant = append(meant, table.Value{Written: said, Month: int(n)})
	case t.kind == 'y' && t.least == 4 && years.First <= n && n <= years.Last:
		meant = append(meant, table.Value{Written: said, Year: years.Year(n)})
	case t.kind == 'y' && t.least == 2:
		for y := from; y <= to; y++ {
			if uint64(y%100) == n {
				meant = append(meant, table.Value{Written: said, Year: y})
			}
		}
	}
	return meant
}

// Holds says whether numbers of this form can stand behind a prefix as a row has it.
func (f *Form) Holds(prefix string, last uint64) bool {
	t := f.tokens[f.number]
	return f.prefix.MatchString(prefix) && (t.more || len(strconv.FormatUint(last, 10)) <= t.least)
}

// FixedWidth says that every number of this form has so many figures that zeros must stand before small ones.
func (f *Form) FixedWidth() bool { return !f.tokens[f.number].more && f.tokens[f.number].least > 1 }

// Strictness orders forms: the more a form says, the sooner it is believed. It depends on nothing but the
// form.
func (f *Form) Strictness() int {
	strict := 0
	for _, t := range f.tokens {
		switch {
		case t.kind == 0:
			strict += 3
		case t.kind != '-' && !t.more:
			strict += t.least
		}
	}
	return strict
}
