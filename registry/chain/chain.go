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
}

// New begins the link behind the one with this sum; the first link has "".
func New(before string) *Hasher {
	h := &Hasher{sum: sha256.New()}
	h.text("house chain 1")
	h.text(before)
	return h
}

// Action adds an action.
func (h *Hasher) Action(id int64, at, by, verb, why string, undoes int64, origin string) {
	h.text("action")
	h.number(id)
	for _, s := range []string{at, by, verb, why} {
		h.text(s)
	}
	h.number(undoes)
	h.text(origin)
	h.flush()
}

// Change adds a change.
func (h *Hasher) Change(id, action int64, kind string, ref int64, subject, fields string) {
	h.text("change")
	h.number(id)
	h.number(action)
	h.text(kind)
	h.number(ref)
	h.text(subject)
	h.text(fields)
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
