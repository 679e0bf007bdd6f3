package desk

import (
	"fmt"

	"pitman/registry"
	"pitman/registry/stock"
)

// undoMine takes back what the person did last.
func undoMine(d *Desk) {
	d.undo(&form{title: fmt.Sprintf("Undo what %s did last", d.by), final: "undoes it", grave: true,
		notes: []string{"Your last step is taken back. The history keeps both. It is refused if others " +
			"have built on it."},
		do: func(d *Desk, _ answers) (string, error) {
			done, err := d.Undo(d.ctx, d.by)
			if err != nil {
				return "", err
			}
			return fmt.Sprintf("Undone: %s, %s.", done.Action,
				registry.FirstOf(namesInLine, done.Subjects)), nil
		}}, d.by, "")
}

// undoOn takes back the last thing that was done to a head or base.
func undoOn(d *Desk, tag registry.Tag, m *stock.Machine) {
	d.undo(&form{m: m, title: fmt.Sprintf("%s: undo the last step", tag), final: "undoes it", grave: true,
		notes: []string{"The last thing that was done to it is taken back. The history keeps both."},
		do: func(d *Desk, _ answers) (string, error) {
			done, err := d.UndoOn(d.ctx, d.by, tag)
			if err != nil {
				return "", err
			}
			if !d.here(tag) {
				d.close(tag)
			}
			return fmt.Sprintf("Undone: %s by %s.", done.Action, done.By), nil
		}}, "", string(tag))
}

// undo says what would be taken back, and takes back nothing else that somebody did while it was being read.
func (d *Desk) undo(f *form, by registry.Initials, subject string) {
	shown, subjects, err := d.last(by, subject)
	if d.refuse(err) {
		return
	}
	if shown != nil {
		at := shown.At.In(d.Config.Location()).Format("2006-01-02 15:04")
		f.notes = append(f.notes,
			fmt.Sprintf("It is this: %s, by %s, %s: %s", shown.Verb, shown.By, at,
				registry.FirstOf(namesInLine, subjects)))
	}
	do := f.do
	f.do = func(d *Desk, a answers) (string, error) {
		last, _, err := d.last(by, subject)
		if err == nil && last != nil && shown != nil && last.ID != shown.ID {
			err = registry.Errorf(registry.Conflict,
				"%s did %s meanwhile, which would be undone instead: press Esc and then u to see it", last.By,
				last.Verb)
		}
		if err != nil {
			return "", err
		}
		return do(d, a)
	}
	d.begin(f)
}

// last is the newest action of somebody or on something that can be undone, with what it changed; nil if
// there is none.
func (d *Desk) last(by registry.Initials, subject string) (last *registry.Action, subjects []string,
	err error) {
	err = d.Store.View(d.ctx, func(r stock.Reader) error {
		if last, err = r.LastAction(by, subject); err != nil || last == nil {
			return err
		}
		subjects, err = r.SubjectsOf(last.ID)
		return err
	})
	return last, subjects, err
}

// namesInLine is how many tags a line of the desk has room for beside what was done to them.
const namesInLine = 8
