package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/sheet"
)

// openSheet reads the header and finds out what its columns are, by asking if need be. What is wrong with it
// goes into the result.
func (a *app) openSheet(d *workplace, file *os.File, job *importJob, given map[string]string,
	answers []imports.ColumnName,
	result *imports.Result) (
	*sheet.Reader, imports.Columns, []imports.ColumnName, error) {
	h, fresh, faults,
		err := a.openHeader(file, job, "The answers are remembered.",
		func(row int) (*imports.Header, error) {
			return d.Imports.ReadHeader(file, row, given, answers)
		})
	if result.Faults, result.Faulty = append(result.Faults, faults...), result.Faulty+len(faults); h == nil {
		return nil, nil, nil, err
	}
	return h.Sheet, h.Columns, fresh, nil
}

// openHeader has the header read, and asks on a terminal what is not sure of it; remembered says whether the
// answers are.
func (a *app) openHeader(file io.Seeker, job *importJob, remembered string,
	read func(row int) (*imports.Header, error)) (
	h *imports.Header, fresh []imports.ColumnName, faults []*sheet.Fault, err error) {
	h, err = read(job.headerRow)
	var wrong *sheet.Fault
	if errors.As(err, &wrong) {
		return nil, nil, []*sheet.Fault{wrong}, nil
	}
	if err != nil {
		return nil, nil, nil, err
	}
	if !h.Sheet.Sure() && a.onTerminal() {
		if job.headerRow, err = a.askHeader(h.Sheet); err != nil {
			return nil, nil, nil, err
		}
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return nil, nil, nil, err
		}
		return a.openHeader(file, job, remembered, read)
	}
	if len(h.Unknown) > 0 && a.onTerminal() {
		if fresh, err = a.askColumns(h, remembered); err != nil {
			return nil, nil, nil, err
		}
		h.Answer(fresh)
	}
	return h, fresh, h.Faults(), nil
}

// askHeader asks in which row the columns are named, where none is known for sure.
func (a *app) askHeader(r *sheet.Reader) (row int, err error) {
	q := a.asker()
	for _, line := range r.Ahead() {
		fmt.Fprintln(q.out, line)
	}
	question := fmt.Sprintf("Which row names the columns? Enter if it is row %d:", r.HeaderRow())
	err = q.until(question, func(answer string) error {
		if row = r.HeaderRow(); answer == "" {
			return nil
		}
		if row, err = strconv.Atoi(answer); err != nil || row < 1 {
			return registry.Errorf(registry.Invalid, "%q is no row: type its number, such as 3", answer)
		}
		return nil
	})
	return row, err
}

// back goes to the question before.
const back = "<"

// askColumns asks what columns hold, with the first cells of each beside it.
func (a *app) askColumns(h *imports.Header, remembered string) ([]imports.ColumnName, error) {
	q := a.asker()
	fmt.Fprintf(q.out,
		"Columns can be: %s.\nThe first letters will do; Enter leaves a column out; %s goes back to the "+
			"column before. %s\n", strings.Join(h.Fields, ", "), back, remembered)
	asked, header := h.Ask(false), h.Sheet.Header()
	answers := make([]imports.ColumnName, len(asked))
	for at := 0; at < len(asked); {
		i := asked[at]
		question := fmt.Sprintf("What is in column %q?", header[i])
		if samples := h.Sheet.Samples(i); len(samples) > 0 {
			fmt.Fprintf(q.out, "%s: %s\n", header[i], strings.Join(samples, "; "))
		}
		err := q.until(question, func(answer string) error {
			if answer == back {
				at = max(at-1, 0)
				return nil
			}
			if found := closest(h.Fields, answer); answer != "" && len(found) == 1 {
				answer = found[0]
			} else if answer == "" {
				answer = imports.ColumnLeftOut
			}
			answers[at] = imports.ColumnName{Column: header[i], Field: answer}
			if err := h.Check(answers[at]); err != nil {
				return err
			}
			at++
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return answers, nil
}
