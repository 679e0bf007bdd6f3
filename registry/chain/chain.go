// Package chain makes a history that cannot be rewritten in silence: each link is the SHA-256 sum of the link
// before it and of the actions and changes that came since. It is pure: it is given rows as they are stored,
// and returns sums.
//
// The canonical form of a row is its fields as netstrings (the length in bytes as decimal digits, a colon,
// the bytes, a comma), so no two rows look alike however their texts are cut; numbers are written in decimal.
// A link is the sum of
//
//	"house chain 1", the link before (64 hexadecimal digits; empty for the first)
//	of each action, by number: "action", number, at, by, verb, why, the action it undoes (0: none), origin
//	of each change, by number: "change", number, action, kind, record, subject, fields (JSON as stored)
//	"link", its number, its note
//
// Where marks stand beside the texts (see Digest), an action is "sealed action", number, at, by, verb, the
// digest of why, the action it undoes, origin; a change is "sealed change", number, action, kind, record,
// subject, the fields with "" in place of each text that has a salt, how many marks there are, and for each
// in the order of the fields: column, 0 or 1, digest; marks with anything else beside these enter once more,
// as they stand. What was recorded before there were marks has none, and its old sum.
package chain

import (
	"crypto/sha256"
	"encoding/hex"
	"hash"
	"strconv"
)

// Hasher makes one link.
type Hasher struct {
	sum hash.Hash
	buf []byte
	cut []byte // the fields of a change without its sealed texts
}

// New begins the link behind the one with this sum; the first link has "".
func New(before string) *Hasher {
	h := &Hasher{sum: sha256.New()}
	h.text("house chain 1")
	h.text(before)
	return h
}

// Action adds an action; mark is that of its why, or "".
func (h *Hasher) Action(id int64, at, by, verb, why string, undoes int64, origin, mark string) {
	if mark == "" {
		h.text("action")
	} else {
		h.text("sealed action")
		if !Forgotten(mark) || why == "" {
			why = Digest(mark, why)
		}
	}
	h.number(id)
	for _, s := range []string{at, by, verb, why} {
		h.text(s)
	}
	h.number(undoes)
	h.text(origin)
	h.flush()
}

// Change adds a change with its marks, if it has any.
func (h *Hasher) Change(id, action int64, kind string, ref int64, subject, fields, marks string) {
	if marks != "" {
		h.sealedChange(id, action, kind, ref, subject, fields, marks)
		return
	}
	h.text("change")
	h.number(id)
	h.number(action)
	h.text(kind)
	h.number(ref)
	h.text(subject)
	h.text(fields)
	h.flush()
}

func (h *Hasher) sealedChange(id, action int64, kind string, ref int64, subject, fields, marks string) {
	h.text("sealed change")
	h.number(id)
	h.number(action)
	h.text(kind)
	h.number(ref)
	h.text(subject)
	given := ParseMarks(marks)
	var sealed []Text
	h.cut = h.cut[:0]
	done := 0
	EachText(fields, func(t Text) {
		mark, ok := given[t.Side]
		if !ok {
			return
		}
		sealed = append(sealed, t)
		if !Forgotten(mark) { // a text that came back to where one was forgotten stays, and shows
			h.cut = append(h.cut, fields[done:t.From]...)
			done = t.To
		}
	})
	h.cut = append(h.cut, fields[done:]...)
	h.text(string(h.cut))
	h.number(int64(len(given)))
	told := 0 // of the marks, in bytes
	for _, t := range sealed {
		told += len(t.Column) + len(" 0 ") + len(given[t.Side]) + len("\n")
		h.text(t.Column)
		h.number(int64(t.At))
		h.text(Digest(given[t.Side], fields[t.From:t.To]))
	}
	if told != len(marks) { // what stands beside them was put in, and would be kept unseen
		h.text(marks)
	}
	h.flush()
}

// Sum ends the link.
func (h *Hasher) Sum(link int64, note string) string {
	h.text("link")
	h.number(link)
	h.text(note)
	h.flush()
	return hex.EncodeToString(h.sum.Sum(nil))
}

func (h *Hasher) text(s string) {
	h.buf = strconv.AppendInt(h.buf, int64(len(s)), 10)
	h.buf = append(h.buf, ':')
	h.buf = append(h.buf, s...)
	h.buf = append(h.buf, ',')
}

func (h *Hasher) number(n int64) {
	var digits [20]byte
	h.text(string(strconv.AppendInt(digits[:0], n, 10)))
}

func (h *Hasher) flush() {
	h.sum.Write(h.buf)
	h.buf = h.buf[:0]
}
