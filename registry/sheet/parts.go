package sheet

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"path"
)

// What the parts of a workbook may hold beside their bytes. Sheets are read row by row; of every other part,
// such as the texts that cells share, some hundred bytes stand in memory for each mark of it, so that a small
// file could take all there is. A workbook of as many machines as fit in its bytes stays below these.
const (
	maxParts      = 10_000
	maxMarks      = 2_000_000
	maxSheetMarks = 10_000_000
)

var (
	errUnpacked = errors.New("larger than a workbook may be")
	errCrowded  = errors.New("more in it than a workbook needs")
)

// weigh refuses a packed workbook whose parts are larger, or hold more, than may be. What cannot be unpacked
// is left to whoever reads it.
func weigh(packed []byte) error {
	parts, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil
	}
	if len(parts.File) > maxParts {
		return errCrowded
	}
	left, marks := int64(MaxWorkbook), 0
	for _, part := range parts.File {
		in, err := part.Open()
		if err != nil {
			continue
		}
		count := &marksIn{}
		n, _ := io.Copy(count, io.LimitReader(in, left+1))
		in.Close()
		if left -= n; left < 0 {
			return errUnpacked
		}
		if path.Base(path.Dir(part.Name)) == "worksheets" {
			if count.n > maxSheetMarks {
				return errCrowded
			}
			continue
		}
		if marks += count.n; marks > maxMarks {
			return errCrowded
		}
	}
	return nil
}

// marksIn counts the marks of what is written to it.
type marksIn struct{ n int }

func (m *marksIn) Write(b []byte) (int, error) {
	m.n += bytes.Count(b, []byte("<"))
	return len(b), nil
}
