package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// MaxWorkbook is how many bytes a workbook may hold, before and after it is unpacked: a file of a few
// kilobytes can unpack to any size.
const MaxWorkbook = 64 << 20

// workbookBegins is how a packed workbook begins (a zip file).
const workbookBegins = "PK\x03\x04"

// workbook reads the first sheet of a workbook that has anything on it. A cell gives what a person sees in
// it, where that is known for sure: a number all its digits, without thousands marks; a date its day,
// 2031-05-04, whichever way the sheet writes days; a formula its last result.
type workbook struct {
	file   *excelize.File
	name   string
	others []string // further sheets with something on them
	rows   *excelize.Rows
	kinds  *kinds
	row    int
	old    bool // days are counted from 1904
	styles map[int]style
}

// style is what a cell's format says of the number in it.
type style struct {
	date  bool
	zeros int // as many digits are shown, with zeros before the number
}

func openWorkbook(from io.Reader) (*workbook, error) {
	packed, err := io.ReadAll(io.LimitReader(from, MaxWorkbook+1))
	if err != nil {
		return nil, err
	}
	if err = weigh(packed); err == nil && len(packed) > MaxWorkbook {
		err = errUnpacked
	}
	var file *excelize.File
	if err == nil {
		file, err = excelize.OpenReader(bytes.NewReader(packed),
			excelize.Options{UnzipSizeLimit: MaxWorkbook, UnzipXMLSizeLimit: MaxWorkbook})
	}
	switch {
	case errors.Is(err, errCrowded):
		return nil, &Fault{Row: 1, Column: "1",
			Message: "the workbook has more in it than a list needs: save " +
				"the sheet as \"CSV UTF-8\""}
	case errors.Is(err, errUnpacked), err != nil && strings.Contains(err.Error(), "unzip size"):
		return nil, &Fault{Row: 1, Column: "1",
			Message: fmt.Sprintf("the workbook is larger than %d MB unpacked: split it, or save the sheet "+
				"as \"CSV UTF-8\"", MaxWorkbook>>20)}
	case err != nil:
		return nil, &Fault{Row: 1, Column: "1",
			Message: "the file is packed like a workbook, but is none that can be read: take off its " +
				"password if it has one, or save the sheet as \"CSV UTF-8\""}
	}
	w := &workbook{file: file, styles: map[int]style{}}
	if props, err := file.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		w.old = *props.Date1904
	}
	for _, name := range file.GetSheetList() {
		if shown, err := file.GetSheetVisible(name); err != nil || !shown || !w.filled(name) {
			continue
		}
		if w.name == "" {
			w.name = name
		} else {
			w.others = append(w.others, name)
		}
	}
	if w.name == "" {
		return nil, &Fault{Row: 1, Column: "1",
			Message: "the workbook is empty: its first row names the columns, such as maker, serial, drive"}
	}
	if w.kinds, err = kindsOf(file, w.name); err != nil {
		return nil, &Fault{Row: 1, Column: "1",
			Message: "the workbook cannot be read: save the sheet as \"CSV UTF-8\""}
	}
	w.rows, err = file.Rows(w.name)
	return w, err
}

// filled says whether a sheet has anything on it.
func (w *workbook) filled(name string) bool {
	rows, err := w.file.Rows(name)
	if err != nil {
		return false
	}
	defer rows.Close()
	for rows.Next() {
		if cells, err := rows.Columns(); err == nil && strings.Join(cells, "") != "" {
			return true
		}
	}
	return false
}

// next returns the cells of the next row, and what is wrong with some of them. Rows are read beside their
// kinds, and both end together, or else what is behind that place could be lost.
func (w *workbook) next() (cells []string, wrong map[int]string, err error) {
	if !w.rows.Next() {
		if err := errors.Join(w.rows.Error(), w.kinds.end(), w.file.Close()); err != nil {
			return nil, nil, err
		}
		return nil, nil, io.EOF
	}
	w.row++
	cells, err = w.rows.Columns(excelize.Options{RawCellValue: true})
	if err != nil {
		return nil, nil, err
	}
	if len(cells) > MaxColumns {
		cells, wrong = cells[:MaxColumns], map[int]string{MaxColumns - 1: fmt.Sprintf(
			"there are %d columns: leave at most %d", len(cells), MaxColumns)}
	}
	kinds, err := w.kinds.of(w.row)
	if err != nil {
		return nil, nil, err
	}
	for i, raw := range cells {
		if raw == "" {
			continue
		}
		text, fault := w.cell(kinds[i], raw)
		cells[i] = text
		if fault != "" {
			if wrong == nil {
				wrong = map[int]string{}
			}
			wrong[i], cells[i] = fault, ""
		}
	}
	return cells, wrong, nil
}

// cell reads one cell by its type.
func (w *workbook) cell(is kind, raw string) (text, fault string) {
	switch is.of {
	case "s", "inlineStr":
		return raw, ""
	case "e":
		return "", fmt.Sprintf("the formula has no result (%.20s): type what belongs there", raw)
	case "b":
		if raw == "1" || strings.EqualFold(raw, "true") {
			return "yes", ""
		}
		return "no", ""
	case "d":
		if day, err := time.Parse("2006-01-02", raw[:min(len(raw), 10)]); err == nil {
			return day.Format(time.DateOnly), ""
		}
		return "", fmt.Sprintf("%.40q is no day: type it as 2031-05-04", raw)
	}
	v, err := strconv.ParseFloat(raw, 64)
	if err != nil {
		return raw, "" // the text that a formula gave
	}
	s := w.style(is.style)
	switch {
	case s.date:
		return w.day(v)
	case v >= 1e15 || v <= -1e15:
		return "", fmt.Sprintf("the number %s has more than 15 digits, and the spreadsheet has changed the "+
			"last of them: have the cell hold text, and type the number "+
			"again", strconv.FormatFloat(v, 'f', 0, 64))
	}
	// Spreadsheets keep 15 digits; what a float holds behind them nobody typed.
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 15, 64), 64)
	text = strconv.FormatFloat(v, 'f', -1, 64)
	if n := s.zeros - len(text); n > 0 && strings.Trim(text, "0123456789") == "" {
		text = strings.Repeat("0", n) + text
	}
	return text, ""
}

// day is a date as the sheet keeps it, days since the end of 1899.
func (w *workbook) day(v float64) (text, fault string) {
	t, err := excelize.ExcelDateToTime(v, w.old)
	if err != nil {
		return "", fmt.Sprintf("the number %g is no day: type one, such as 2031-05-04", v)
	}
	switch t = t.Round(time.Minute); {
	case v < 1:
		return t.Format("15:04"), ""
	case t.Hour() == 0 && t.Minute() == 0:
		return t.Format(time.DateOnly), ""
	}
	return t.Format("2006-01-02 15:04"), ""
}

func (w *workbook) style(id int) style {
	if s, ok := w.styles[id]; ok {
		return s
	}
	var s style
	if format, err := w.file.GetStyle(id); err == nil {
		code := ""
		if format.CustomNumFmt != nil {
			code = *format.CustomNumFmt
		}
		s = styleOf(format.NumFmt, code)
	}
	w.styles[id] = s
	return s
}

var (
	// parts of a format that stand for no number
	notShown  = regexp.MustCompile(`"[^"]*"|\[[^\]]*\]|\\.|_.|\*.`)
	onlyZeros = regexp.MustCompile(`^0+$`)
)

// styleOf reads a number format: one of the built-in ones, by its number (ECMA-376 part 1, 18.8.30), or a
// code of the sheet's own.
func styleOf(number int, code string) style {
	if code == "" {
		return style{date: number >= 14 && number <= 22 || number >= 27 && number <= 36 || number >= 45 &&
			number <= 47 || number >= 50 && number <= 58}
	}
	first, _, _ := strings.Cut(code, ";")
	shown := strings.ToLower(notShown.ReplaceAllString(first, ""))
	switch {
	case shown == "general", shown == "standard", shown == "@":
		return style{}
	case onlyZeros.MatchString(shown):
		return style{zeros: len(shown)}
	}
	return style{date: strings.ContainsAny(shown, "ymdhs")}
}
