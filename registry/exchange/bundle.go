package exchange

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"hash"
	"io"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/chain"
)

// A bundle is a gzip file of JSON lines: the head, for each machine its tag with its actions and changes,
// where asked for the pictures in pieces, and the end with a SHA-256 sum of all lines before it. It is read
// as a stream, and everything in it is bounded, for anybody can have made the file.
const (
	bundleVersion = 1
	// the version of one that carries pictures, which an older reader refuses by its head
	withPictures = 2
	// the version of one that hands nothing over, which an older reader refuses as well
	onlyShown      = 3
	maxBundle      = 4 << 30 // bytes, unpacked
	maxLine        = 1 << 20
	maxUnitBytes   = 16 << 20 // history of one machine
	maxUnitChanges = 20_000
	pictureBytes   = 480 << 10 // in one line
	maxPicture     = 8 << 20   // a stored picture of the most dots there are
)

// Head says where a bundle comes from.
type Head struct {
	Version int       `json:"version"`
	House   string    `json:"house"`
	Letters string    `json:"letters"`
	To      string    `json:"to"`
	At      time.Time `json:"at"`
	Photos  bool      `json:"photos,omitempty"` // it carries the pictures of its machines, too
	Stock   bool      `json:"stock,omitempty"`  // it only shows what stands there, and hands nothing over

	// Chain is how far the history of the house had come when it wrote the bundle.
	Chain *chain.Head `json:"chain,omitempty"`
}

func (h *Head) version() int {
	switch {
	case h.Stock:
		return onlyShown
	case h.Photos:
		return withPictures
	}
	return bundleVersion
}

// line is one line of a bundle: exactly one of its fields is set.
type line struct {
	Head   *Head       `json:"bundle,omitempty"`
	Tag    string      `json:"tag,omitempty"`
	Action *actionLine `json:"action,omitempty"`
	Change *changeLine `json:"change,omitempty"`
	Photo  *photoLine  `json:"photo,omitempty"`
	Sum    string      `json:"sha256,omitempty"`

	// Beside the sum: who signed it.
	Key       string `json:"key,omitempty"`
	Signature string `json:"signature,omitempty"`
}

// photoLine is a piece of a picture; the last one says so.
type photoLine struct {
	Name  string `json:"name"`
	Piece []byte `json:"piece"`
	Last  bool   `json:"last,omitempty"`
}

type actionLine struct {
	ID     int64             `json:"id"`
	At     time.Time         `json:"at"`
	By     registry.Initials `json:"by"`
	Verb   string            `json:"verb"`
	Why    string            `json:"why,omitempty"`
	Undoes int64             `json:"undoes,omitempty"`
	Origin string            `json:"origin,omitempty"`
}

type changeLine struct {
	Action int64             `json:"action"`
	Kind   string            `json:"kind"`
	Ref    int64             `json:"ref"`
	Fields map[string][2]any `json:"fields"`
	// which texts before and after were forgotten, and stand empty
	Forgotten map[string][2]bool `json:"forgotten,omitempty"`
}

// BundleWriter writes a bundle.
type BundleWriter struct {
	zip *gzip.Writer
	sum hash.Hash
	out io.Writer
}

// NewBundle begins a bundle.
func NewBundle(to io.Writer, head Head) (*BundleWriter, error) {
	head.Version = head.version()
	w := &BundleWriter{zip: gzip.NewWriter(to), sum: sha256.New()}
	w.out = io.MultiWriter(w.zip, w.sum)
	return w, w.write(w.out, line{Head: &head})
}

func (w *BundleWriter) write(to io.Writer, l line) error {
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	return e.Encode(l)
}

// Add writes one machine or base.
func (w *BundleWriter) Add(c *UnitHistory) error {
	if err := w.write(w.out, line{Tag: c.Subject}); err != nil {
		return err
	}
	for _, a := range c.Actions {
		if err := w.write(w.out,
			line{Action: &actionLine{a.ID, a.At, a.By, a.Verb, a.Why, a.Undoes, a.Origin}}); err != nil {
			return err
		}
	}
	for _, c := range c.Changes {
		if err := w.write(w.out,
			line{Change: &changeLine{c.Action, c.Kind, c.Ref, c.Fields, c.Forgotten}}); err != nil {
			return err
		}
	}
	return nil
}

// AddPhoto writes a stored picture, behind all machines and bases.
func (w *BundleWriter) AddPhoto(name string, stored []byte) error {
	for {
		n := min(len(stored), pictureBytes)
		l := photoLine{Name: name, Piece: stored[:n], Last: n == len(stored)}
		if err := w.write(w.out, line{Photo: &l}); err != nil || l.Last {
			return err
		}
		stored = stored[n:]
	}
}

// Close ends the bundle, unsigned.
func (w *BundleWriter) Close() error { return w.Sign(nil) }

// Sign ends the bundle, signed by this key if there is one.
func (w *BundleWriter) Sign(key ed25519.PrivateKey) error {
	last := line{Sum: hex.EncodeToString(w.sum.Sum(nil))}
	if key != nil {
		last.Key = hex.EncodeToString(key.Public().(ed25519.PublicKey))
		last.Signature = hex.EncodeToString(ed25519.Sign(key, []byte(signedAs+last.Sum)))
	}
	if err := w.write(w.zip, last); err != nil {
		return err
	}
	return w.zip.Close()
}

// BundleReader reads a bundle, one machine or base after another.
type BundleReader struct {
	Head   Head
	Signer string // the key that signed it, once the last line was read; "" when nobody did
	// is given each picture, which nobody has looked at yet; nil when nobody wants them
	Photo func(name string, stored []byte) error
	lines *bufio.Scanner
	sum   hash.Hash
	ahead *line // read, and not used yet
	ended bool
}

func broken(format string, args ...any) error {
	return registry.Errorf(registry.Invalid, "the bundle "+format+
		": copy the file again, or ask for a new one", args...)
}

// ReadBundle reads the head of a bundle.
func ReadBundle(from io.Reader) (*BundleReader, error) {
	zip, err := gzip.NewReader(bufio.NewReader(from))
	if err != nil {
		return nil, registry.Errorf(registry.Invalid,
			"the file is no bundle: name one that a house wrote to hand machines over")
	}
	r := &BundleReader{lines: bufio.NewScanner(io.LimitReader(zip, maxBundle)), sum: sha256.New()}
	r.lines.Buffer(nil, maxLine)
	first, err := r.next()
	if err != nil {
		return nil, err
	}
	if first.Head == nil {
		return nil, registry.Errorf(registry.Invalid,
			"the file is no bundle: name one that a house wrote to hand machines over")
	}
	r.Head = *first.Head
	if r.Head.Version != r.Head.version() || r.Head.Stock && r.Head.Photos {
		return nil, registry.Errorf(registry.Invalid,
			"the bundle has version %d, and this program reads version %d: install a newer one",
			r.Head.Version, bundleVersion)
	}
	if err := registry.CheckLetters(r.Head.Letters); err != nil {
		return nil, broken("has the house letters %.20q", r.Head.Letters)
	}
	if _, err := registry.CleanText("house", r.Head.House, registry.MaxName); err != nil {
		return nil, broken("has the house %.60q", r.Head.House)
	}
	if c := r.Head.Chain; c != nil && !c.Tells() {
		return nil, broken("tells a state of its house's history that no house has")
	}
	return r, nil
}

// next reads one line and checks the sum at the end.
func (r *BundleReader) next() (*line, error) {
	if l := r.ahead; l != nil {
		r.ahead = nil
		return l, nil
	}
	if !r.lines.Scan() {
		switch err := r.lines.Err(); {
		case errors.Is(err, bufio.ErrTooLong):
			return nil, broken("has a line of more than %d bytes", maxLine)
		case err != nil:
			return nil, broken("cannot be unpacked (%v)", err)
		}
		return nil, broken("ends before its last line")
	}
	text := r.lines.Bytes()
	var l line
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	d.DisallowUnknownFields()
	err := d.Decode(&l)
	if err != nil && strings.Contains(err.Error(), "unknown field") {
		return nil, registry.Errorf(registry.Invalid,
			"the bundle was made by a newer version, since it says more than this program knows: install the "+
				"newer one; nothing was taken over")
	}
	if err != nil || d.More() {
		return nil, broken("has a line that cannot be read")
	}
	if l.Sum == "" {
		r.sum.Write(text)
		r.sum.Write([]byte("\n"))
		return &l, nil
	}
	if l.Sum != hex.EncodeToString(r.sum.Sum(nil)) {
		return nil, broken("is damaged: its checksum is wrong")
	}
	if r.lines.Scan() {
		return nil, broken("goes on behind its last line")
	}
	if err := r.lines.Err(); err != nil {
		return nil, broken("cannot be unpacked (%v)", err)
	}
	signer, err := l.signer()
	if err != nil {
		return nil, err
	}
	r.Signer, r.ended = signer, true
	return &l, nil
}

// Next returns the next machine or base, or nil after the last one, when the sum was right.
func (r *BundleReader) Next() (*UnitHistory, error) {
	if r.ended {
		return nil, nil
	}
	l, err := r.next()
	if err != nil || r.ended {
		return nil, err
	}
	if l.Photo != nil {
		return nil, r.photos(l.Photo)
	}
	if l.Tag == "" {
		return nil, broken("has a line out of place")
	}
	c := &UnitHistory{Subject: l.Tag}
	size := 0
	for {
		if l, err = r.next(); err != nil {
			return nil, err
		}
		size += len(r.lines.Bytes())
		switch {
		case l.Action != nil:
			a := l.Action
			c.Actions = append(c.Actions,
				registry.Action{ID: a.ID, At: a.At, By: a.By, Verb: a.Verb, Why: a.Why, Undoes: a.Undoes,
					Origin: a.Origin})
		case l.Change != nil:
			x := l.Change
			c.Changes = append(c.Changes,
				registry.Change{Action: x.Action, Kind: x.Kind, Ref: x.Ref, Subject: c.Subject,
					Fields: x.Fields, Forgotten: x.Forgotten})
		case l.Tag != "", l.Photo != nil, l.Sum != "":
			if l.Sum == "" {
				r.ahead = l
			}
			return c, c.Check()
		default:
			return nil, broken("has a line out of place")
		}
		if size > maxUnitBytes || len(c.Changes)+len(c.Actions) > maxUnitChanges {
			return nil, broken("has too long a history for %.40q", c.Subject)
		}
	}
}

// photos reads the pictures, which stand behind all machines and bases, to the end of the bundle.
func (r *BundleReader) photos(l *photoLine) error {
	for r.Head.Photos && l != nil {
		name, stored := l.Name, l.Piece
		for !l.Last {
			next, err := r.next()
			if err != nil {
				return err
			}
			if l = next.Photo; l == nil || l.Name != name || len(stored)+len(l.Piece) > maxPicture {
				return broken("has a picture that does not end")
			}
			stored = append(stored, l.Piece...)
		}
		if r.Photo != nil {
			if err := r.Photo(name, stored); err != nil {
				return err
			}
		}
		next, err := r.next()
		if err != nil || r.ended {
			return err
		}
		l = next.Photo
	}
	return broken("has a line out of place")
}
