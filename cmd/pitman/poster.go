package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"time"

	"pitman/labels"
	"pitman/labels/wall"
	"pitman/registry"
	"pitman/registry/reports"
)

// writePoster writes the most urgent lines of a worklist as a sheet for the wall, by due day and role.
func (a *app) writePoster(d *workplace, list reports.Worklist, who, file string) error {
	now := d.Now().In(d.Location())
	drawing, err := poster(list.Tasks, who, now).Draw()
	if err != nil {
		return registry.Errorf(registry.Invalid, "the poster: %v", err)
	}
	err = replaceFile(file, 0o644,
		func(w io.Writer) error { return labels.WritePDF(w, "What to do next", now, drawing) })
	if err == nil {
		fmt.Fprintf(a.err, "wrote %s\n", file)
	}
	return err
}

// onPoster is what a role is called where a word has six letters.
var onPoster = map[string]string{"coordinator": "coord."}

// poster takes the first lines of a worklist, as many as a poster holds, and orders them by day and role.
func poster(tasks []reports.Task, who string, now time.Time) wall.Poster {
	all := len(tasks)
	tasks = slices.Clone(tasks[:min(len(tasks), wall.MaxLines)])
	slices.SortStableFunc(tasks, func(a, b reports.Task) int {
		if (a.Due == "") != (b.Due == "") { // what no order waits for comes last
			return cmp.Compare(b.Due, a.Due)
		}
		return cmp.Or(cmp.Compare(a.Due, b.Due),
			cmp.Compare(slices.Index(reports.Roles, a.For), slices.Index(reports.Roles, b.For)))
	})
	p := wall.Poster{Title: "What to do next", Foot: "As of " + now.Format("2006-01-02 15:04") +
		". The day is that on which an order is to leave."}
	if all > len(tasks) {
		p.Foot += fmt.Sprintf(" The %d most urgent of %d lines.", len(tasks), all)
	}
	if who != "" {
		p.Title += ": " + who
	}
	for _, t := range tasks {
		l := wall.Line{Do: t.Do}
		if day, err := time.Parse(time.DateOnly, t.Due); err == nil {
			l.Day = dayOnPoster(day, now)
		}
		if who == "" {
			l.Who = cmp.Or(onPoster[t.For], t.For)
		}
		if about := cmp.Or(string(t.Tag), t.Order); about != "" {
			l.Do = about + " " + t.Do
		}
		p.Lines = append(p.Lines, l)
	}
	if len(p.Lines) == 0 {
		p.Lines = []wall.Line{{Do: "Nothing waits."}}
	}
	return p
}

// dayOnPoster is a day where a year has no room: another year's stands alone, unless the day is so near that
// nobody takes it for the one of this year.
func dayOnPoster(day, now time.Time) string {
	const near = 6 // months
	if day.Year() == now.Year() || day.After(now.AddDate(0, -near, 0)) && day.Before(now.AddDate(0, near, 0)) {
		return day.Format("2 Jan")
	}
	return day.Format("2006")
}
