package delimited

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
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

// Keep leaves out the rows that are not wanted. All else stays as it was written, in UTF-8: comments, empty
// lines, quotation marks, and rows that cannot be read.
func Keep(text []byte, wanted func(cells []string) bool) ([]byte, error) {
	saved, err := Open(bytes.NewReader(text), OrComments)
	if err != nil {
		return nil, err
	}
	if text, err = io.ReadAll(saved); err != nil {
		return nil, err
	}
	saved.Reader = bufio.NewReader(bytes.NewReader(text))
	rows, kept := saved.CSV(), []byte{}
	line, at := 1, 0 // where what is not looked at yet begins
	for {
		cells, err := rows.Read()
		if err == io.EOF {
			return append(kept, text[at:]...), nil
		}
		if broken := (*csv.ParseError)(nil); errors.As(err, &broken) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if wanted(cells) {
			continue
		}
		start := at
		for row, _ := rows.FieldPos(0); line < row; line++ {
			start += bytes.IndexByte(text[start:], '\n') + 1
		}
		kept = append(kept, text[at:start]...)
		at = int(rows.InputOffset())
		line += bytes.Count(text[start:at], []byte("\n"))
	}
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
