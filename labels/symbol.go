package labels

import (
	"fmt"
	"strings"

	qrcode "github.com/skip2/go-qrcode"
)

// Limits of a QR symbol in print.
const (
	QuietZone = 4   // modules of light around the symbol, ISO/IEC 18004
	minModule = 0.4 // mm; common practice for hand-held readers and cameras: three dots of a 203 dpi printer
)

// alphanumeric are the 45 characters that a QR symbol packs two to 11 bits (ISO/IEC 18004, alphanumeric
// mode).
const alphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

// Level is how much of a symbol may be lost before it can no longer be read: low 7 %, medium 15 %, quartile
// 25 %, high 30 % of its code words (ISO/IEC 18004).
type Level string

var levels = map[Level]qrcode.RecoveryLevel{"low": qrcode.Low, "medium": qrcode.Medium,
	"quartile": qrcode.High, "high": qrcode.Highest}

func (l Level) validate() error {
	if _, ok := levels[l]; !ok {
		return fmt.Errorf("qr_level %q is not known: type low, medium, quartile or high", string(l))
	}
	return nil
}

// Symbol is a QR symbol: rows of modules, true for dark, with the quiet zone.
type Symbol [][]bool

// encode makes the smallest symbol that holds the payload.
func encode(payload string, level Level) (Symbol, error) {
	if err := level.validate(); err != nil {
		return nil, err
	}
	code, err := qrcode.New(payload, levels[level])
	if err != nil {
		return nil, fmt.Errorf("QR payload %q cannot be drawn: %w", payload, err)
	}
	return code.Bitmap(), nil
}

// payloadFor is what a tag's QR symbol says: the tag alone, or the house's base address and the tag. All of
// it is in capitals, which the compact alphanumeric mode needs; so the address must mean the same in
// capitals.
func payloadFor(baseURL, tag string) (string, error) {
	if err := validateBaseURL(baseURL); err != nil {
		return "", err
	}
	payload := strings.ToUpper(baseURL + tag)
	if i := strings.IndexFunc(payload,
		func(r rune) bool { return !strings.ContainsRune(alphanumeric, r) }); i >= 0 {
		return "", fmt.Errorf("tag %q cannot stand in a QR symbol: type letters A to Z and digits", tag)
	}
	return payload, nil
}

// validateBaseURL refuses an address that a QR symbol in capitals would break: the part before the first
// slash is the same in capitals (RFC 3986, 6.2.2.1: scheme and host ignore case), the path behind it is not.
func validateBaseURL(base string) error {
	if base == "" {
		return nil
	}
	scheme, rest, _ := strings.Cut(base, "://")
	if !strings.EqualFold(scheme, "http") && !strings.EqualFold(scheme, "https") {
		return fmt.Errorf("base_url %q is not a web address: type one such as HTTPS://EXAMPLE.ORG/M/", base)
	}
	host, path, _ := strings.Cut(rest, "/")
	for _, r := range strings.ToUpper(base) {
		if !strings.ContainsRune(alphanumeric, r) || r == ' ' {
			return fmt.Errorf("base_url %q has %q in it, which a compact QR symbol cannot hold: use "+
				"letters A to Z, digits and / . - : only", base, r)
		}
	}
	switch {
	case host == "":
		return fmt.Errorf("base_url %q names no host: type one such as HTTPS://EXAMPLE.ORG/M/", base)
	case path != strings.ToUpper(path):
		return fmt.Errorf("base_url %q has small letters in its path, and the QR symbol is in capitals: "+
			"let your server answer to %q and type that", base, strings.ToUpper(base))
	case !strings.HasSuffix(base, "/"): // by which a scanned address is told from its tag
		return fmt.Errorf("base_url %q must end in /, since the tag follows it: type %q", base, base+"/")
	}
	return nil
}

// Side is the number of modules along an edge, quiet zone included.
func (s Symbol) Side() int { return len(s) }

// modules are a symbol in little room, as a drawing keeps it: one bit for each, dark ones set, row by row.
type modules struct {
	side int
	bits []byte
}

func (s Symbol) modules() modules {
	m := modules{s.Side(), make([]byte, (s.Side()*s.Side()+7)/8)}
	for y, row := range s {
		for x, dark := range row {
			if i := y*m.side + x; dark {
				m.bits[i/8] |= 1 << (i % 8)
			}
		}
	}
	return m
}

func (m modules) dark(x, y int) bool {
	i := y*m.side + x
	return m.bits[i/8]>>(i%8)&1 != 0
}

// rings draws the symbol, quiet zone and all, with a module as the unit: each run of dark ones in a row is
// one outline, half as many as modules.
func (m modules) rings() []ring {
	out := make([]ring, 0, m.side*8)
	for y := range m.side {
		for start := 0; start < m.side; start++ {
			end := start
			for end < m.side && m.dark(end, y) {
				end++
			}
			if end > start {
				out = append(out, rect(float64(start), float64(y), float64(end-start), 1))
				start = end
			}
		}
	}
	return out
}
