package chain

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"
)

// A text in which a person's name can stand does not enter the chain itself, but by a digest of it and of a
// salt, the mark, that stands beside it. To forget it, text and mark are put out, and the digest is left: the
// sum of the link stays as it is, and nobody can try whether a name fits. A mark is one of
//
//	32 hexadecimal digits: a salt; what enters is the SHA-256 of these digits and of the text as it is stored
//	64 hexadecimal digits: the digest of a text that was forgotten; it enters itself, and the text is empty
//	"~": a text that another house had forgotten; it enters itself
//
// The marks of a change stand in one text, a line each: column, 0 before or 1 after, mark. The text is taken
// as it stands in the JSON of the change, between its quotes.
const (
	saltDigits   = 32
	digestDigits = 64

	// Blank is the mark of a text that came forgotten.
	Blank = "~"
)

// NewSalt makes the mark of a text.
func NewSalt() string {
	var salt [saltDigits / 2]byte
	_, _ = rand.Read(salt[:]) // never fails
	return hex.EncodeToString(salt[:])
}

// Digest is what a text with this mark enters the chain as.
func Digest(mark, text string) string {
	if len(mark) != saltDigits {
		return mark
	}
	sum := sha256.New()
	sum.Write([]byte(mark))
	sum.Write([]byte(text))
	return hex.EncodeToString(sum.Sum(nil))
}

// Forgotten says whether a text with this mark was forgotten, here or elsewhere.
func Forgotten(mark string) bool { return len(mark) == digestDigits || mark == Blank }

// Count is how many texts of a change with these marks were forgotten here.
func Count(marks string) (n int) {
	for line := range strings.Lines(marks) {
		if at := strings.LastIndexByte(line,
			' '); len(strings.TrimSuffix(line[at+1:], "\n")) == digestDigits {
			n++
		}
	}
	return n
}

// Side is one of the two texts of a field: before the change, or after it.
type Side struct {
	Column string
	At     int // 0 before, 1 after
}

// line is how a mark of this side is stored.
func (s Side) line(mark string) string {
	return s.Column + " " + string(rune('0'+s.At)) + " " + mark + "\n"
}

// Marks are those of one change.
type Marks map[Side]string

// ParseMarks reads the marks of a change. Lines that are none are left out: what they spoke of is then not as
// it was recorded.
func ParseMarks(text string) Marks {
	if text == "" {
		return nil
	}
	marks := Marks{}
	for line := range strings.Lines(text) {
		column, rest, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		side, mark, ok := strings.Cut(rest, " ")
		if ok && (side == "0" || side == "1") {
			marks[Side{column, int(side[0] - '0')}] = mark
		}
	}
	return marks
}

// Forgotten are those whose text was forgotten.
func (m Marks) Forgotten(yield func(Side) bool) {
	for side, mark := range m {
		if Forgotten(mark) && !yield(side) {
			return
		}
	}
}

// Text is how the marks of a change with these fields are stored: in the order of its texts.
func (m Marks) Text(fields string) string {
	var out strings.Builder
	EachText(fields, func(t Text) {
		if mark, ok := m[t.Side]; ok {
			out.WriteString(t.line(mark))
		}
	})
	return out.String()
}

// Seal makes the marks of a change: one for each text in a personal column that is not empty, or that came
// forgotten.
func Seal(fields string, personal func(column string) bool, forgotten map[string][2]bool) string {
	var out strings.Builder
	EachText(fields, func(t Text) {
		switch {
		case t.To == t.From && forgotten[t.Column][t.At]:
			out.WriteString(t.line(Blank))
		case t.To > t.From && personal(t.Column):
			out.WriteString(t.line(NewSalt()))
		}
	})
	return out.String()
}

// Text is where one text of a change stands in its JSON, without the quotes.
type Text struct {
	Side
	From, To int
}

// Is is the text itself.
func (t Text) Is(fields string) (text string) {
	if json.Unmarshal([]byte(fields[t.From-1:t.To+1]), &text) != nil {
		return ""
	}
	return text
}

// EachText calls fn with each text in the fields of a change: JSON without spaces, an array of two for each
// column. It says whether they have that form.
func EachText(fields string, fn func(Text)) bool {
	s := scanner{text: fields}
	if !s.take('{') {
		return false
	}
	if s.take('}') {
		return s.at == len(fields)
	}
	for {
		from, to, ok := s.quoted()
		if !ok || !s.take(':') || !s.take('[') {
			return false
		}
		column := fields[from:to]
		for side := range 2 {
			if side == 1 && !s.take(',') {
				return false
			}
			if from, to, ok := s.quoted(); ok {
				fn(Text{Side{column, side}, from, to})
			} else if !s.bare() {
				return false
			}
		}
		if !s.take(']') {
			return false
		}
		if s.take('}') {
			return s.at == len(fields)
		}
		if !s.take(',') {
			return false
		}
	}
}

type scanner struct {
	text string
	at   int
}

func (s *scanner) take(c byte) bool {
	ok := s.at < len(s.text) && s.text[s.at] == c
	if ok {
		s.at++
	}
	return ok
}

// quoted goes over a string, and says what stands between the quotes.
func (s *scanner) quoted() (from, to int, ok bool) {
	if !s.take('"') {
		return 0, 0, false
	}
	for from = s.at; s.at < len(s.text); s.at++ {
		switch s.text[s.at] {
		case '\\':
			s.at++
		case '"':
			s.at++
			return from, s.at - 1, true
		}
	}
	return 0, 0, false
}

// bare goes over a number or a null.
func (s *scanner) bare() bool {
	from := s.at
	for s.at < len(s.text) && strings.IndexByte(",]}[{:\"", s.text[s.at]) < 0 {
		s.at++
	}
	return s.at > from
}

// Forget puts a text and its salt out of a change, and leaves its digest. What has no mark gets one first.
func Forget(fields, marks string, sides ...Side) (newFields, newMarks string) {
	all := ParseMarks(marks)
	if all == nil {
		all = Marks{}
	}
	var out strings.Builder
	done := 0
	EachText(fields, func(t Text) {
		for _, side := range sides {
			if side == t.Side && t.To > t.From {
				if all[side] == "" {
					all[side] = NewSalt()
				}
				all[side] = Digest(all[side], fields[t.From:t.To])
				out.WriteString(fields[done:t.From])
				done = t.To
			}
		}
	})
	out.WriteString(fields[done:])
	return out.String(), all.Text(out.String())
}
