package desk

import (
	"fmt"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/reports"
)

// slow is how long a look at the worklist may take while someone waits for the answer to a key. In a very
// large house it takes longer, and is left for a moment in which nobody presses any.
const (
	slow  = 100 * time.Millisecond
	quiet = 2 * time.Second
)

// lookAhead finds the most urgent thing to do, now or when the person rests.
func (d *Desk) lookAhead() {
	if d.looked > slow {
		d.lookLater = true
		return
	}
	d.look()
}

func (d *Desk) look() {
	began := time.Now()
	list, err := d.Worklist(d.ctx, "")
	d.looked, d.lookLater = time.Since(began), false
	if d.refuse(err) {
		return
	}
	d.next = ""
	if len(list.Tasks) > 0 {
		d.next = told(list.Tasks[0])
		if more := len(list.Tasks) - 1; more > 0 {
			d.next = fmt.Sprintf("%s (and %d more)", d.next, more)
		}
	}
}

func told(t reports.Task) string {
	if t.Tag == "" {
		return strings.TrimSpace(fmt.Sprintf("%s %s: %s", t.Order, t.Do, t.Why))
	}
	return fmt.Sprintf("%s %s: %s", t.Tag, t.Do, t.Why)
}

// worklist shows all that is to be done, most urgent first; a letter keeps one person's lines.
type worklist struct {
	role  string
	tasks []reports.Task
	at    int
}

func (w *worklist) typing() *editor { return nil }

func (w *worklist) wake(d *Desk) {
	list, err := d.Worklist(d.ctx, w.role)
	if !d.refuse(err) {
		w.tasks = list.Tasks
	}
	w.at = max(0, min(w.at, len(w.tasks)-1))
}

func (w *worklist) view(_ *Desk, width int) page {
	title := "What to do next, most urgent first"
	if w.role != "" {
		title += ", for the " + w.role
	}
	p := page{title: title, keys: "Up, Down, Enter open one   For: b bench  t tester  c coordinator  a all",
		cursor: -1, focus: w.at}
	if len(w.tasks) == 0 {
		p.add(text("Nothing waits. Have some tea."))
	}
	for i, t := range w.tasks {
		h := plain
		if i == w.at {
			h = marked
		}
		days := ""
		if t.Days > 0 {
			days = registry.Counted(t.Days, "day")
		}
		if t.Due != "" {
			days = t.Due // the day that an order waits for it
		}
		p.add(line{{" " + pad(clip(told(t), width-12), width-12) + " " + days, h}})
	}
	return p
}

func (w *worklist) key(d *Desk, k *tcell.EventKey) {
	switch k.Key() {
	case tcell.KeyDown, tcell.KeyTab:
		w.at++
	case tcell.KeyUp, tcell.KeyBacktab:
		w.at--
	case tcell.KeyPgDn:
		w.at += 10
	case tcell.KeyPgUp:
		w.at -= 10
	case tcell.KeyEnter:
		if w.at < len(w.tasks) && w.tasks[w.at].Tag != "" {
			d.open(w.tasks[w.at].Tag)
		}
	case tcell.KeyRune:
		role, ok := map[rune]string{'b': "bench", 't': "tester", 'c': "coordinator", 'a': ""}[letter(k)]
		if !ok {
			unknown(d, k)
			return
		}
		w.role, w.at = role, 0
		w.wake(d)
	}
	w.at = max(0, min(w.at, len(w.tasks)-1))
}
