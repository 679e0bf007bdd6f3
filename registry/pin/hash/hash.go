// Package hash is what is kept of a PIN: enough to know it again, and as dear as can be to whoever tries all
// PINs against it.
package hash

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"sync"

	"golang.org/x/crypto/argon2"
)

// Cost is how dear it is to work out one PIN.
type Cost struct {
	Passes, MemoryKiB uint32
	Lanes             uint8
}

// Usual is the second recommended option of RFC 9106, section 4: argon2id with 3 passes over 64 MiB in 4
// lanes.
var Usual = Cost{Passes: 3, MemoryKiB: 64 * 1024, Lanes: 4}

// By the same section: a salt of 128 bits and a tag of 256.
const (
	saltBytes = 16
	tagBytes  = 32
)

// A file that somebody forged asks for no more than this of whoever tries a PIN against it.
var dearest = Cost{Passes: 16, MemoryKiB: 1024 * 1024, Lanes: 16}

// Hash is what is kept of a PIN.
type Hash struct {
	Cost
	salt, tag []byte
}

// working lets one PIN be worked out at a time, so that many who try together do not fill the memory.
var working sync.Mutex

func (c Cost) tag(typed string, salt []byte) []byte {
	working.Lock()
	defer working.Unlock()
	return argon2.IDKey([]byte(typed), salt, c.Passes, c.MemoryKiB, c.Lanes, tagBytes)
}

// Hash works out a new PIN.
func (c Cost) Hash(typed string) Hash {
	salt := make([]byte, saltBytes)
	rand.Read(salt) // never fails
	return Hash{c, salt, c.tag(typed, salt)}
}

var text = base64.RawStdEncoding

// String says how the hash was made as well, so that another cost can follow one day: in the form in which
// the reference implementation of argon2 writes it.
func (h Hash) String() string {
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.MemoryKiB, h.Passes, h.Lanes,
		text.EncodeToString(h.salt), text.EncodeToString(h.tag))
}

// parse reads what was kept; false where it is damaged, or would cost more than any PIN here does.
func parse(kept string) (h Hash, ok bool) {
	parts := strings.Split(kept, "$")
	if len(parts) != 6 {
		return h, false
	}
	var version int
	if _, err := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d",
		&version, &h.MemoryKiB, &h.Passes, &h.Lanes); err != nil || version != argon2.Version {
		return h, false
	}
	var badSalt, badTag error
	h.salt, badSalt = text.DecodeString(parts[4])
	h.tag, badTag = text.DecodeString(parts[5])
	ok = badSalt == nil && badTag == nil && len(h.salt) == saltBytes && len(h.tag) == tagBytes &&
		h.Passes > 0 && h.Passes <= dearest.Passes && h.Lanes > 0 && h.Lanes <= dearest.Lanes &&
		h.MemoryKiB <= dearest.MemoryKiB && h.String() == kept
	return h, ok
}

// Matches says whether a PIN is the one of which this was kept. What is damaged is nobody's.
func Matches(kept, typed string) bool {
	h, ok := parse(kept)
	return ok && subtle.ConstantTimeCompare(h.Cost.tag(typed, h.salt), h.tag) == 1
}
