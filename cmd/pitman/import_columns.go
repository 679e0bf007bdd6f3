package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/sheet"
)

// openSheet reads the header and finds out what its columns are, by asking if need be. What is wrong with it
// goes into the result.
func (a *app) openSheet(d *workplace, file *os.File, job *importJob, given map[string]string,
	answers []exchange.ColumnName,
	result *exchange.Result) (
	*sheet.Reader, exchange.Columns, []exchange.ColumnName, error) {
	h, err := d.Exchange.ReadHeader(file, job.headerRow, given, answers)
	var wrong *sheet.Fault
	if errors.As(err, &wrong) {
		result.Faults, result.Faulty = append(result.Faults, wrong), result.Faulty+1
		return nil, nil, nil, nil
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
		return a.openSheet(d, file, job, given, answers, result)
	}
	var fresh []exchange.ColumnName
	if len(h.Unknown) > 0 && a.onTerminal() {
		if fresh, err = a.askColumns(h.Sheet, h.Unknown); err != nil {
			return nil, nil, nil, err
		}
		h.Answer(fresh)
	}
	faults := h.Faults()
	result.Faults, result.Faulty = append(result.Faults, faults...), result.Faulty+len(faults)
	return h.Sheet, h.Columns, fresh, nil
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
func (a *app) askColumns(r *sheet.Reader, unknown []int) ([]exchange.ColumnName, error) {
	q := a.asker()
	fmt.Fprintf(q.out,
		"Columns can be: %s.\nThe first letters will do; Enter leaves a column out; %s goes back to the "+
			"column before. The answers are remembered.\n", strings.Join(exchange.ImportFields(), ", "), back)
	header := r.Header()
	var asked []int // one of each name: a list that named it twice could not be read again
	for _, i := range unknown {
		if !slices.ContainsFunc(asked,
			func(j int) bool { return exchange.ColumnKey(header[j]) == exchange.ColumnKey(header[i]) }) {
			asked = append(asked, i)
		}
	}
	answers := make([]exchange.ColumnName, len(asked))
	for at := 0; at < len(asked); {
		i := asked[at]
		question := fmt.Sprintf("What is in column %q?", header[i])
		if samples := r.Samples(i); len(samples) > 0 {
			fmt.Fprintf(q.out, "%s: %s\n", header[i], strings.Join(samples, "; "))
		}
		err := q.until(question, func(answer string) error {
			if answer == back {
				at = max(at-1, 0)
				return nil
			}
			if found := closest(exchange.ImportFields(), answer); answer != "" && len(found) == 1 {
				answer = found[0]
			} else if answer == "" {
				answer = exchange.ColumnLeftOut
			}
			answers[at] = exchange.ColumnName{Column: header[i], Field: answer}
			if err := answers[at].Check(); err != nil {
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
