package bench

import (
	"context"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// Work is one note from the bench: who did what to a machine, and for how long.
type Work struct {
	registry.Row
	Tag        registry.Tag          `json:"tag" db:"tag"`
	At         time.Time             `json:"at" db:"at"`
	By         registry.Initials     `json:"by" db:"by"`
	Did        string                `json:"did" db:"did"` // start, note, finish, fit, convert
	Jobs       registry.List[string] `json:"jobs" db:"jobs,json"`
	Minutes    int                   `json:"minutes" db:"minutes"`
	Note       string                `json:"note" db:"note,personal"`
	Electrical bool                  `json:"electrical" db:"electrical"`
}

// Kind names the table.
func (*Work) Kind() string { return "work" }

// Subject is the machine that was worked on.
func (k *Work) Subject() string { return string(k.Tag) }

// WorkNote is what a person says of work done.
type WorkNote struct {
	Jobs    []string // from the house's job list
	Minutes int
	Note    string
}

// longestWork is a day at the bench; more was typed in another unit.
const longestWork = 24 * 60

func (n WorkNote) Check() error {
	if n.Minutes < 0 || n.Minutes > longestWork {
		return registry.Errorf(registry.Invalid,
			"minutes %d is no time at the bench: type minutes from 0 to %d", n.Minutes, longestWork)
	}
	return nil
}

// BenchStart takes a machine to the bench. What was tested before no longer counts.
func (w *Bench) BenchStart(ctx context.Context, by registry.Initials, tag registry.Tag,
	note WorkNote) (*stock.Machine, error) {
	return w.bench(ctx, by, tag, "start", note, func(m *stock.Machine, at time.Time) error {
		action := registry.DoBenchStart
		if m.UnsafeWhy != "" {
			action = registry.DoBenchMend
		}
		if err := m.MoveTo(action, at); err != nil {
			return err
		}
		m.CancelTest()
		if m.TakesMains() {
			m.PauseSafety() // nobody can tell afterwards what a hand or a tool touched
		}
		return nil
	})
}

// BenchNote keeps what was done, without moving the machine.
func (w *Bench) BenchNote(ctx context.Context, by registry.Initials, tag registry.Tag,
	note WorkNote) (*stock.Machine, error) {
	if len(note.Jobs) == 0 && registry.Blank(note.Note) {
		return nil, registry.Errorf(registry.Invalid,
			"nothing to note for %s: give a job of the list, or a note in your own words", tag).
			On("job").Then(registry.Next(registry.DoBenchNote, tag))
	}
	return w.bench(ctx, by, tag, "note", note,
		func(m *stock.Machine, at time.Time) error { return m.MoveTo(registry.DoBenchNote, at) })
}

// BenchFinish sends a machine to its tests.
func (w *Bench) BenchFinish(ctx context.Context, by registry.Initials, tag registry.Tag,
	note WorkNote) (*stock.Machine, error) {
	return w.bench(ctx, by, tag, "finish", note,
		func(m *stock.Machine, at time.Time) error { return m.MoveTo(registry.DoBenchDone, at) })
}

func (w *Bench) bench(ctx context.Context, by registry.Initials, tag registry.Tag, did string, note WorkNote,
	move func(*stock.Machine, time.Time) error) (*stock.Machine, error) {
	if err := note.Check(); err != nil {
		return nil, err
	}
	text, err := registry.CleanText("note", note.Note, registry.MaxNote)
	if err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "bench "+did, "", func(tx stock.Tx, m *stock.Machine) error {
		at := tx.Action().At
		if err := move(m, at); err != nil {
			return err
		}
		jobs, electrical, err := w.jobsFor(m, note.Jobs)
		if err != nil {
			return err
		}
		if electrical {
			m.CancelSafety()
		} else if m.TakesMains() && (len(jobs) > 0 || text != "" || note.Minutes > 0) {
			m.PauseSafety()
		}
		return tx.Put(&Work{Tag: tag, At: at, By: by, Did: did, Jobs: jobs, Minutes: note.Minutes, Note: text,
			Electrical: electrical})
	})
}

// jobsFor finds named jobs on the house's list, for this machine's drive.
func (w *Bench) jobsFor(m *stock.Machine, names []string) (jobs registry.List[string], electrical bool,
	err error) {
	if len(names) == 0 {
		return nil, false, nil
	}
	list, err := w.Lists.Jobs()
	if err != nil {
		return nil, false, err
	}
	var known []string
	for _, j := range list {
		if j.Drives.Has(m.Drive) {
			known = append(known, j.Job)
		}
	}
	for _, name := range names {
		name = strings.ToLower(strings.TrimSpace(name))
		i := slices.IndexFunc(list, func(j BenchJob) bool { return j.Job == name && j.Drives.Has(m.Drive) })
		if i < 0 {
			return nil, false,
				registry.Errorf(registry.Invalid,
					"job %q is not on the list for %s machines: type one of %s, or say it in a note",
					name, m.Drive, strings.Join(known, ", ")).On("job")
		}
		jobs = append(jobs, list[i].Job)
		electrical = electrical || list[i].onMains()
	}
	return jobs, electrical, nil
}

// JobsFor lists the jobs of the house that are done on this machine.
func (w *Bench) JobsFor(m *stock.Machine) ([]BenchJob, error) {
	list, err := w.Lists.Jobs()
	return slices.DeleteFunc(slices.Clone(list), func(j BenchJob) bool { return !j.Drives.Has(m.Drive) }), err
}

// CautionsFor gathers the cautions that a person at the bench should have read: those of the jobs, and that
// of the mains for a machine with a motor.
func CautionsFor(m *stock.Machine, jobs []BenchJob) []string {
	var texts []string
	add := func(c registry.Caution) {
		if text := c.Text(); text != "" && !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	if m.TakesMains() {
		add(registry.CautionMains)
	}
	for _, j := range jobs {
		for _, c := range j.Caution.Each() {
			add(c)
		}
	}
	return texts
}

// Refurbishers lists everyone who ever worked on the machine.
func Refurbishers(r stock.Reader, tag registry.Tag) ([]registry.Initials, error) {
	var works []Work
	if err := r.All(&works, stock.Fields{"tag": tag}); err != nil {
		return nil, err
	}
	var people []registry.Initials
	for _, k := range works {
		if !slices.Contains(people, k.By) {
			people = append(people, k.By)
		}
	}
	return people, nil
}
