package delimited

import (
	"bytes"
	"io"
	"strings"
)

// LinesOf is a table as lines in UTF-8, whatever program saved it, without those that hold nothing. What is
// no text is a line by itself.
func LinesOf(text []byte) (lines []string) {
	read, err := Open(bytes.NewReader(text), OrComments)
	if err != nil {
		return []string{string(text)}
	}
	all, err := io.ReadAll(read)
	if err != nil {
		return []string{string(text)}
	}
	for line := range strings.SplitSeq(string(all), "\n") {
		if line = strings.TrimRight(line, "\r"); strings.Trim(line, ",;\t \"") != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// Without is the lines of one list that the other has not, each as often as it is there more.
func Without(list, other []string) []string {
	count := map[string]int{}
	for _, line := range other {
		count[line]++
	}
	out := []string{}
	for _, line := range list {
		if count[line]--; count[line] < 0 {
			out = append(out, line)
		}
	}
	return out
}
