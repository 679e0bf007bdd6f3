// Package phone knows which phones may speak for whom.
//
// A phone is paired by a code that is used once and lives for minutes; from then on it carries a secret of
// its own, which a house keeps as a hash. Codes and phones are files in the house's phones folder, one each,
// beside the registry and in no backup or bundle: who restores a house pairs its phones anew. A code is used
// by taking its file away, which one caller alone can do, so several programs may make codes, pair and remove
// at once without locks. When a phone was last seen is its file's time, so noting it never brings back a
// removed phone.
//
// A paired phone says whose it is. It is no authority: what needs a PIN asks for it all the same.
package phone

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/whole"
)

// Folder is where a house keeps its phones.
const Folder = "phones"

// How long things hold.
const (
	CodeLife  = 10 * time.Minute
	PhoneLife = 90 * 24 * time.Hour
	seenEvery = time.Minute // so often is the time of a phone's last request written down
)

const most = 1000 // phones and codes; far beyond any workshop, so that nothing fills the folder

// Store is the phones folder of a house.
type Store struct {
	Dir string
	Now func() time.Time
}

// In is the store of the house in dir.
func In(dir string, now func() time.Time) Store { return Store{filepath.Join(dir, Folder), now} }

// Phone is a paired phone.
type Phone struct {
	ID      string            `json:"id"`
	By      registry.Initials `json:"by"`
	Paired  time.Time         `json:"paired_at"`
	Expires time.Time         `json:"expires_at"`
	Seen    time.Time         `json:"seen_at"`
}

// kept is a phone as its file holds it.
type kept struct {
	By      registry.Initials `json:"by"`
	Paired  time.Time         `json:"paired_at"`
	Expires time.Time         `json:"expires_at"`
	Hash    string            `json:"hash"` // SHA-256 of its secret, which has 256 random bits
}

// offered is a code as its file holds it; the file's name is its hash.
type offered struct {
	By      registry.Initials `json:"by"`
	Expires time.Time         `json:"expires_at"`
}

// letters of codes, without those that look alike: I, L, O and U.
const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

const codeLength = 12 // of 5 bits each: nobody guesses 60 bits in ten minutes

// NewCode makes a code that pairs one phone with a person; without initials, whoever uses it says whose phone
// it is.
func (s Store) NewCode(by registry.Initials) (code string, expires time.Time, err error) {
	if err := os.Mkdir(s.Dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return "", expires, err
	}
	if err := s.sweep(); err != nil {
		return "", expires, err
	}
	random := make([]byte, codeLength)
	rand.Read(random) // never fails
	for i := range random {
		random[i] = letters[random[i]%32]
	}
	expires = s.Now().Add(CodeLife).UTC().Truncate(time.Second)
	if err := write(s.codeFile(string(random)), offered{by, expires}); err != nil {
		return "", expires, err
	}
	return spaced(string(random)), expires, nil
}

// spaced parts a code so that it can be read aloud and typed.
func spaced(code string) string { return code[:4] + "-" + code[4:8] + "-" + code[8:] }

// plain is a code as its hash is taken: whatever a person may have made of it while typing.
func plain(code string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '\t', '\r', '\n':
			return -1
		case 'O':
			return '0'
		case 'I', 'L':
			return '1'
		}
		return r
	}, strings.ToUpper(code))
}

func (s Store) codeFile(code string) string {
	return filepath.Join(s.Dir, "code-"+hash(plain(code))+".json")
}

func hash(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

func write(path string, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return whole.Write(path, text, 0o600)
}

func read(path string, v any) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, v)
}

var errCode = registry.Errorf(registry.Invalid,
	"that code is used up, too old or mistyped: have a new one shown")

// Pair uses a code up and returns the phone's secret, which is kept nowhere else. A code that names a person
// pairs with that person; only one that names nobody lets the phone say who it belongs to.
func (s Store) Pair(code string, by registry.Initials) (p Phone, secret string, err error) {
	var o offered
	path := s.codeFile(code)
	if err := read(path, &o); err != nil {
		return p, "", errCode
	}
	if !o.Expires.After(s.Now()) {
		return p, "", errors.Join(errCode, gone(os.Remove(path)))
	}
	switch {
	case o.By == "" && by == "":
		return p, "", registry.Errorf(registry.Invalid,
			"whose phone this is, is missing: give your initials, such as QX")
	case o.By == "":
		o.By = by
	case by != "" && by != o.By:
		return p, "", registry.Errorf(registry.Conflict,
			"this code is for %s, not for %s: have one shown for %s", o.By, by, by)
	}
	phones, err := s.List()
	if err != nil {
		return p, "", err
	}
	if len(phones) >= most {
		return p, "", registry.Errorf(registry.Conflict,
			"%d phones are paired, which is the most: remove those that nobody uses", len(phones))
	}
	// Whoever takes the file away has the code; the other of two who try at once finds it gone.
	if err := os.Remove(path); err != nil {
		return p, "", errCode
	}
	now := s.Now().UTC().Truncate(time.Second)
	p = Phone{ID: strings.ToLower(randomText(5)), By: o.By, Paired: now, Expires: now.Add(PhoneLife),
		Seen: now}
	own := randomText(32)
	if err := write(s.phoneFile(p.ID), kept{p.By, p.Paired, p.Expires, hash(own)}); err != nil {
		return p, "", err
	}
	return p, p.ID + "." + own, nil
}

// randomText is so many random bytes as letters and figures that go into a cookie and a file name.
func randomText(n int) string {
	b := make([]byte, n)
	rand.Read(b)
	if n < 16 {
		return hex.EncodeToString(b)
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

func (s Store) phoneFile(id string) string { return filepath.Join(s.Dir, "phone-"+id+".json") }

// isID says whether a text has the form of a phone's id; so no id leads out of the folder.
func isID(id string) bool { return len(id) == 10 && strings.Trim(id, "0123456789abcdef") == "" }

// Who says which phone carries this secret; nil when none does, or when it was removed or is too old.
func (s Store) Who(secret string) (*Phone, error) {
	id, own, _ := strings.Cut(secret, ".")
	if !isID(id) || len(own) > 100 {
		return nil, nil
	}
	p, k, err := s.phone(id)
	if err != nil || p == nil {
		return nil, err
	}
	if subtle.ConstantTimeCompare([]byte(hash(own)), []byte(k.Hash)) != 1 || !p.Expires.After(s.Now()) {
		return nil, nil
	}
	if now := s.Now(); now.Sub(p.Seen) >= seenEvery {
		if err := gone(os.Chtimes(s.phoneFile(id), time.Time{}, now)); err != nil {
			return nil, err
		}
		p.Seen = now
	}
	return p, nil
}

func gone(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

func (s Store) phone(id string) (*Phone, kept, error) {
	var k kept
	err := read(s.phoneFile(id), &k)
	var noJSON *json.SyntaxError
	if errors.As(err, &noJSON) {
		return nil, k, nil // whose file was damaged is paired anew; nobody else is held up by it
	}
	if err != nil {
		return nil, k, gone(err)
	}
	info, err := os.Stat(s.phoneFile(id))
	if err != nil {
		return nil, k, gone(err)
	}
	return &Phone{id, k.By, k.Paired, k.Expires, info.ModTime().UTC().Truncate(time.Second)}, k, nil
}

// List lists the phones that are paired now, the one last seen first.
func (s Store) List() ([]Phone, error) {
	files, err := filepath.Glob(s.phoneFile("*"))
	if err != nil {
		return nil, err
	}
	phones := []Phone{}
	for _, file := range files {
		id := strings.TrimSuffix(strings.TrimPrefix(filepath.Base(file), "phone-"), ".json")
		if !isID(id) {
			continue
		}
		p, _, err := s.phone(id)
		if err != nil {
			return nil, err
		}
		if p != nil && p.Expires.After(s.Now()) {
			phones = append(phones, *p)
		}
	}
	slices.SortFunc(phones, func(a, b Phone) int { return b.Seen.Compare(a.Seen) })
	return phones, nil
}

// Remove ends a phone's pairing at once.
func (s Store) Remove(id string) error {
	if isID(id) {
		err := os.Remove(s.phoneFile(id))
		if !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return registry.Errorf(registry.NotFound, "no phone %q is paired: choose one of those that are listed",
		id)
}

// sweep takes away what is too old to be of use.
func (s Store) sweep() error {
	files, err := filepath.Glob(filepath.Join(s.Dir, "*.json"))
	if err != nil {
		return err
	}
	codes := 0
	for _, file := range files {
		var any struct {
			Expires time.Time `json:"expires_at"`
		}
		if err := read(file, &any); err != nil || any.Expires.IsZero() {
			continue // none of a phone or a code
		}
		if !any.Expires.After(s.Now()) {
			if err := gone(os.Remove(file)); err != nil {
				return err
			}
		} else if strings.HasPrefix(filepath.Base(file), "code-") {
			codes++
		}
	}
	if codes >= most {
		return registry.Errorf(registry.Conflict,
			"%d codes wait to be used: wait ten minutes until they have run out", codes)
	}
	return nil
}
