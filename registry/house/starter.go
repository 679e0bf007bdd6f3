package house

import (
	"fmt"
	"strings"
)

// Settle writes answers into a fresh house.toml: who may record electrical safety tests, and the command that
// prints labels. It takes the marks of a comment from their lines and headings; what is not answered stays a
// comment.
func Settle(config []byte, competent []string, printer string) ([]byte, error) {
	text := string(config)
	uncomment := func(heading, setting, value string) {
		before, after, ok := strings.Cut(text, "# "+heading+"\n")
		if !ok {
			return
		}
		lines := strings.Split(after, "\n")
		for i, line := range lines {
			if rest, ok := strings.CutPrefix(line, "# "+setting+" = "); ok {
				_, comment, _ := strings.Cut(rest, " # ")
				lines[i] = fmt.Sprintf("%s = %s    # %s", setting, value,
					strings.TrimPrefix(comment, "for example: "))
				break
			}
		}
		text = before + heading + "\n" + strings.Join(lines, "\n")
	}
	if len(competent) > 0 {
		var quoted []string
		for _, c := range competent {
			quoted = append(quoted, fmt.Sprintf("%q", c))
		}
		uncomment("[safety]", "competent", "["+strings.Join(quoted, ", ")+"]")
	}
	if printer != "" {
		uncomment("[desk]", "print", fmt.Sprintf("%q", printer))
	}
	_, err := ParseConfig([]byte(text))
	return []byte(text), err
}
