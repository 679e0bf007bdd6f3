package scheme

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"pitman/labels"
	"pitman/labels/letters"
)

// section is the table in which a scheme stands, alone in its file or beside the rest of a house.toml.
type section struct {
	Scheme *labels.Scheme `toml:"scheme"`
}

// Parse reads a file with the table [scheme]. What it leaves out, tables, bands and single values, is
// as in Default.
func Parse(name string, text []byte) (*labels.Scheme, error) {
	file := section{labels.Default()}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&file); err != nil {
		var unknown *toml.StrictMissingError
		if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
			return nil, fmt.Errorf("%s: %q is no setting of a scheme: correct its spelling, or put # "+
				"before it", name, strings.Join(unknown.Errors[0].Key(), "."))
		}
		return nil, fmt.Errorf("%s: %s", name, strings.TrimPrefix(err.Error(), "toml: "))
	}
	if err := file.Scheme.Validate(); err != nil {
		return nil, fmt.Errorf("%s, %w", name, err)
	}
	return file.Scheme, nil
}

// TOML writes the scheme as Parse reads it, one band a line.
func TOML(s *labels.Scheme) []byte {
	var b bytes.Buffer
	b.WriteString("[scheme]\n")
	for _, v := range []struct{ key, value string }{
		{"stock", s.Stock}, {"slip_stock", s.SlipStock}, {"base_url", s.BaseURL},
		{"qr_level", string(s.QRLevel)}, {"text", s.Text.String()}, {"paper", s.Paper.String()},
		{"if_found", letters.Clean(s.IfFound)},
	} {
		fmt.Fprintf(&b, "%s = %s\n", v.key, strconv.Quote(v.value))
	}
	for _, g := range s.Groups() {
		fmt.Fprintf(&b, "\n[scheme.%s]\n", g.Name)
		for _, key := range g.Keys {
			band := g.Bands[key]
			fmt.Fprintf(&b, "%-8s = {word = %s, colour = \"%s\", ink = \"%s\", pattern = %s}\n",
				key, strconv.Quote(letters.Clean(band.Word)), band.Colour, band.Ink,
				strconv.Quote(string(band.Pattern)))
		}
	}
	return b.Bytes()
}

// Replace puts the scheme into the text of a house.toml: every other line stays as it is, comments too.
// Comments that follow the last setting of the old scheme belong to what stands below it.
func Replace(s *labels.Scheme, house []byte) []byte {
	var kept, comments []string
	inside := false
	for line := range strings.Lines(string(house)) {
		trimmed := strings.TrimSpace(line)
		was := inside
		if strings.HasPrefix(trimmed, "[") {
			name := strings.TrimSpace(strings.Trim(strings.SplitN(trimmed, "]", 2)[0], "[ "))
			inside = name == "scheme" || strings.HasPrefix(name, "scheme.")
		}
		switch {
		case inside && was && (strings.HasPrefix(trimmed, "#") || trimmed == "" && comments != nil):
			comments = append(comments, line)
		case inside:
			comments = nil
		default:
			kept, comments = append(append(kept, comments...), line), nil
		}
	}
	kept = append(kept, comments...)
	text := strings.TrimRight(strings.Join(kept, ""), "\n")
	if text != "" {
		text += "\n\n"
	}
	return append([]byte(text), TOML(s)...)
}
