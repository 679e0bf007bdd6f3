package labels

import (
	"fmt"
	"strings"

	qrcode "github.com/skip2/go-qrcode"
)

// Limits of a QR symbol in print.
const (
	quietZone = 4   // modules of light around the symbol, ISO/IEC 18004
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

// symbol is a QR symbol: rows of modules, true for dark, with the quiet zone.
type symbol [][]bool

// encode makes the smallest symbol that holds the payload.
func encode(payload string, level Level) (symbol, error) {
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

// side is the number of modules along an edge, quiet zone included.
func (s symbol) side() int { return len(s) }

// rings draws the symbol, quiet zone and all, as a square with its corner at x, y: each run of dark modules
// in a row is one outline, half as many as modules.
func (s symbol) rings(x, y, size float64) []ring {
	module := size / float64(s.side())
	out := make([]ring, 0, s.side()*8)
	for row, modules := range s {
		for start := 0; start < len(modules); start++ {
			if !modules[start] {
				continue
			}
			end := start
			for end < len(modules) && modules[end] {
				end++
			}
			out = append(out,
				rect(x+float64(start)*module, y+float64(row)*module, float64(end-start)*module, module))
			start = end
		}
	}
	return out
}
