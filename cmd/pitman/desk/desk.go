// Package desk is one screen for a whole sewing day, for a keyboard and a handheld scanner.
//
// The desk is a small state machine: keys and times go in (Key, Paste, Tick), a page comes out (Draw). It
// knows no terminal, so a test can play a whole day on a simulated screen, key by key. Run ties it to a real
// one.
//
// What a person sees is a stack of screens; Esc takes the top one away. The desk holds no rule of the
// workshop: it asks registry.Workshop, and shows the answer or the refusal as it stands.
//
// A scanner types a tag and Enter, faster than people do. Keys therefore pass through a burst (scan.go)
// before a screen gets them: a valid tag that came in one breath opens that machine, wherever the person was,
// and what they had typed stays.
package desk

import (
	"context"
	"slices"
	"time"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/house"
)

// Label prints the label of a head or base and says where it went; nil when nothing can print here.
type Label func(by registry.Initials, tag registry.Tag) (where string, err error)

// Outside is what the desk brings about beyond the registry.
type Outside struct {
	Label Label
	Pair  Pair
}

// Desk is the state of the screen.
type Desk struct {
	*house.Workshop
	Outside

	ctx      context.Context   // with the signature of whoever is there, once it was given
	unsigned context.Context   // without it
	noPIN    registry.Initials // who just signed without a PIN, since nobody has one
	checked  bool              // a PIN was just tried, which takes a moment

	by          registry.Initials
	stack       []screen
	quit        bool
	width       int      // of a page, as it was drawn last
	blocks      bool     // the screen has letters to draw with
	height      int      // of the screen; 0 for the desk that is read line by line
	load        load     // what the whole van-load has in common, whoever logs it
	van         *vanLoad // being logged; nil when none is
	drafts      drafts
	*unfinished // by the person who is there
	everyone    map[registry.Initials]*unfinished

	message   string // what the last key brought about
	caution   bool   // the message warns
	done      int
	next      string        // the most urgent thing to do
	looked    time.Duration // how long it took to find that
	lookLater bool          // it is to be found again in a quiet moment

	safekeeping string // how well the house is kept, as the first page says it

	now     time.Time // of the last key or tick
	burst   burst
	entered time.Time // the last Enter
	pasting bool

	pressed     time.Time     // the last key
	lettered    bool          // it was a letter
	rested      time.Duration // from the key before it to this one
	afterLetter bool          // the key before it was a letter
	stray       bool          // the last key did nothing on its page

	lastPasted time.Time // when the last pasted letter came
}

// unfinished is what a person has left half-way; it waits for them while others use the desk.
type unfinished struct {
	halves  map[string]*form      // forms, by title
	shelves map[string]*placePage // places half scanned, by title
	tests   map[registry.Tag]*test
	blank   registry.Tag // printed ahead, and scanned for what is logged next; empty for none
}

// A screen is one thing that the person is busy with.
type screen interface {
	view(d *Desk, width int) page
	key(d *Desk, k *tcell.EventKey)
	// typing is the field that letters go to, or nil where single keys choose.
	typing() *editor
}

// leaver is a screen that has something to keep when Esc or a scan takes the person away from it.
type leaver interface{ leave(d *Desk) }

// escaper is a screen in which Esc first does something smaller than leaving it; it says whether there was
// such a thing.
type escaper interface{ esc(d *Desk) bool }

// waker is a screen that looks again at what it shows when it comes back on top.
type waker interface{ wake(d *Desk) }

// New makes the desk of a house folder. Without initials it asks who is there first.
func New(ctx context.Context, w *house.Workshop, dir string, by registry.Initials,
	outside Outside) *Desk {
	d := &Desk{Workshop: w, Outside: outside, ctx: ctx, unsigned: ctx, now: w.Now(), drafts: drafts{dir: dir},
		everyone: map[registry.Initials]*unfinished{}}
	w.Welcome = func(by registry.Initials) {
		d.say("%s is new here: welcome. If someone else uses these initials, add a figure to yours.", by)
	}
	w.Prove = nil // the desk asks on a page of its own
	w.Unsigned = func(by registry.Initials) { d.noPIN = by }
	if by == "" {
		d.push(&who{})
		return d
	}
	d.enter(by)
	return d
}

// enter starts the day of a person, from the top.
func (d *Desk) enter(by registry.Initials) {
	d.by, d.stack, d.ctx = by, nil, d.unsigned
	if d.everyone[by] == nil {
		d.everyone[by] = &unfinished{halves: map[string]*form{}, shelves: map[string]*placePage{},
			tests: map[registry.Tag]*test{}}
	}
	d.unfinished = d.everyone[by]
	d.push(&home{})
	d.refresh()
	if m, ok := d.drafts.read(by); ok {
		d.push(&resume{m})
	}
}

// keep lets the top screen keep what it has, since the person goes away from it.
func (d *Desk) keep() {
	if l, ok := d.top().(leaver); ok {
		l.leave(d)
	}
}

func (d *Desk) top() screen { return d.stack[len(d.stack)-1] }

// deepest is how many pages Esc can go back through; whoever was interrupted that often has forgotten the
// first.
const deepest = 12

func (d *Desk) push(s screen) {
	if len(d.stack) >= deepest {
		said := d.message
		if l, ok := d.stack[1].(leaver); ok {
			l.leave(d)
		}
		d.message = said
		d.stack = slices.Delete(d.stack, 1, 2)
	}
	d.stack = append(d.stack, s)
	if w, ok := s.(waker); ok {
		w.wake(d)
	}
}

// back takes the top screen away; the first one stays.
func (d *Desk) back() {
	if len(d.stack) < 2 {
		return
	}
	d.stack = d.stack[:len(d.stack)-1]
	if w, ok := d.top().(waker); ok {
		w.wake(d)
	}
}

// drop takes one screen away, wherever it stands.
func (d *Desk) drop(s screen) {
	if d.top() == s {
		d.back()
		return
	}
	d.stack = slices.DeleteFunc(d.stack, func(other screen) bool { return other == s })
}

// swap puts a screen in the place of the top one.
func (d *Desk) swap(s screen) {
	if len(d.stack) > 1 {
		d.stack = d.stack[:len(d.stack)-1]
	}
	d.push(s)
}

// deliver gives one key to the screen on top.
func (d *Desk) deliver(k *tcell.EventKey) {
	d.message, d.caution = "", false
	switch k.Key() {
	case tcell.KeyCtrlC:
		d.keep()
		d.quit = true
		return
	case tcell.KeyEscape:
		if e, ok := d.top().(escaper); ok && e.esc(d) {
			return
		}
		d.keep()
		if len(d.stack) > 1 && !d.asksWho() {
			d.back()
		}
		return
	}
	if k.Key() == tcell.KeyRune && k.Rune() == '?' && d.top().typing() == nil {
		if _, there := d.top().(*howTo); !there {
			d.push(&howTo{})
			return
		}
	}
	d.top().key(d, k)
}

// asksWho says that nobody gets past the top screen without saying who they are.
func (d *Desk) asksWho() bool {
	w, ok := d.top().(*who)
	return ok && !w.chosen && w.about == ""
}

// refresh looks again at what stands on every page.
func (d *Desk) refresh() {
	n, err := d.DoneToday(d.ctx, d.by)
	if err != nil {
		d.refuse(err)
		return
	}
	d.done = n
	d.lookAhead()
}
