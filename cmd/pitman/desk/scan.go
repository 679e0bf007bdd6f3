package desk

import (
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// A scanner leaves some milliseconds between characters, more by radio or over a slow line; people's fingers need 60 or more
// and do not type a tag with its check character without a pause. From common practice, tried with keys sent through tmux.
const (
	scanGap   = 150 * time.Millisecond // the longest wait within one scan
	singleKey = 60 * time.Millisecond  // a small letter alone is a chosen key after this
	firstKey  = 200 * time.Millisecond // a capital may begin a scan over a slow line; people choose with small letters

	// So many characters, at so little from one to the next, are no person's.
	fewestScanned = 6
	fastest       = 25 * time.Millisecond
)

// burst is what was typed in one breath: a scan, perhaps.
type burst struct {
	text   string
	first  time.Time
	last   time.Time
	held   []*tcell.EventKey // keys that no screen has seen yet, since single keys would act
	field  *editor           // or the field that they went to,
	before editor            // and what it held before
	known  *offerKeys        // what was offered beside it,
	chosen offerKeys         // and what of that was chosen before
}

// Key takes a key at a time.
func (d *Desk) Key(k *tcell.EventKey, at time.Time) {
	d.Tick(at)
	d.now = at
	if k.Modifiers()&tcell.ModAlt != 0 && !d.pasting {
		// Esc and the next key came in one packet, over a slow line or from quick fingers; nobody presses Alt here.
		d.Key(tcell.NewEventKey(tcell.KeyEscape, 0, tcell.ModNone), at)
		k = tcell.NewEventKey(k.Key(), k.Rune(), k.Modifiers()&^tcell.ModAlt)
	}
	if d.pasting && (d.lastPasted.IsZero() || at.Sub(d.lastPasted) <= quiet) {
		d.lastPasted = at
		d.pasted(k)
		return
	}
	d.pasting = false // also where the end of a paste was lost on the way: the keyboard must not stay dead
	b := &d.burst
	switch k.Key() {
	case tcell.KeyRune:
		if b.text == "" || at.Sub(b.last) > scanGap || (len(b.held) == 0 && d.top().typing() != b.field) {
			d.release()
			*b = burst{field: d.top().typing(), first: at}
			if b.field != nil {
				b.before = *b.field
			}
			if o, ok := d.top().(offerer); ok {
				b.known = o.offering()
				b.chosen = *b.known
			}
		}
		b.text += string(k.Rune())
		b.last = at
		if b.field == nil {
			b.held = append(b.held, k)
			return
		}
		d.deliver(k)
	case tcell.KeyEnter, tcell.KeyTab, tcell.KeyLF:
		// Scanners end with Enter, some with Tab, with a line feed, or with both Enter and a line feed.
		if k.Key() == tcell.KeyLF {
			if at.Sub(d.entered) <= scanGap {
				return
			}
			k = tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone)
		}
		if k.Key() == tcell.KeyEnter {
			d.entered = at
		}
		if at.Sub(b.last) <= scanGap && d.scanned() {
			return
		}
		if d.release() {
			d.deliver(k)
		}
	default:
		d.release()
		d.deliver(k)
	}
}

// Paste says that what follows was pasted, which is text and no scan, or that it ends.
func (d *Desk) Paste(on bool) {
	d.release()
	d.pasting, d.lastPasted = on, time.Time{}
}

// pasted text goes to a field and nowhere else; its line ends are blanks.
func (d *Desk) pasted(k *tcell.EventKey) {
	if d.top().typing() == nil {
		return
	}
	switch k.Key() {
	case tcell.KeyRune:
		d.deliver(k)
	case tcell.KeyEnter, tcell.KeyTab, tcell.KeyLF:
		d.deliver(tcell.NewEventKey(tcell.KeyRune, ' ', tcell.ModNone))
	}
}

// Tick tells the desk the time. Deadline says when it wants to know it next.
func (d *Desk) Tick(at time.Time) {
	if len(d.burst.held) > 0 && !at.Before(d.burst.deadline()) {
		d.release()
	}
	if f, ok := d.top().(*logForm); ok && f.dirty && at.Sub(d.now) >= pause {
		f.save(d)
	}
	if d.lookLater && at.Sub(d.now) >= quiet {
		d.look()
	}
	if d.idleAt() && at.Sub(d.now) >= d.Config.Desk.Idle() {
		d.keep()
		d.push(&who{still: true})
	}
}

// Deadline is when Tick has something to do, or zero.
func (d *Desk) Deadline() time.Time {
	switch {
	case len(d.burst.held) > 0:
		return d.burst.deadline()
	case d.unsaved():
		return d.now.Add(pause)
	case d.lookLater:
		return d.now.Add(quiet)
	case d.idleAt():
		return d.now.Add(d.Config.Desk.Idle())
	}
	return time.Time{}
}

// pause is how long after the last letter a half-typed field goes into the draft.
const pause = time.Second

func (d *Desk) unsaved() bool {
	f, ok := d.top().(*logForm)
	return ok && f.dirty
}

// idleAt says whether the desk would ask who is there, if nobody came.
func (d *Desk) idleAt() bool { return d.by != "" && d.Config.Desk.IdleMinutes > 0 && !d.asksWho() }

func (b *burst) deadline() time.Time {
	switch {
	case len(b.held) > 1:
		return b.last.Add(scanGap)
	case strings.ToUpper(b.text) == b.text && strings.ToLower(b.text) != b.text:
		return b.last.Add(firstKey)
	}
	return b.last.Add(singleKey)
}

// release ends the burst: it was no scan, so the keys that were held back are chosen one after another. It says whether an
// Enter behind them counts.
func (d *Desk) release() bool {
	held, text, machined := d.burst.held, d.burst.text, d.burst.tooFastForFingers()
	d.burst = burst{}
	if len(held) > 2 && looksLikeTag.MatchString(text) {
		// A scan that went wrong must not press keys; one that only lacks its Enter is good.
		if tag, err := registry.ParseTag(text); !d.refuse(err) {
			d.found(tag)
		}
		return false
	}
	if len(held) > 0 && machined { // a code on a packet or a telephone
		d.message = ""
		d.warn("%q was scanned, which is no tag of a machine or base. Nothing was done.", clip(text, 30))
		return false
	}
	for _, k := range held {
		d.deliver(k)
	}
	return true
}

// tooFastForFingers tells a scan of something that is no tag from keys that a quick person presses in one breath, and from one that is
// held down.
func (b *burst) tooFastForFingers() bool {
	first, _ := utf8.DecodeRuneInString(b.text)
	n := utf8.RuneCountInString(b.text)
	return strings.Trim(b.text, string(first)) != "" && n >= fewestScanned && b.last.Sub(b.first) < time.Duration(n-1)*fastest
}

// looksLikeTag is the shape of every tag, whether its check character fits or not, and of what is left of one.
var looksLikeTag = regexp.MustCompile(`^[A-Za-z]{1,4}[0-9]+[0-9A-Za-z]?$`)

// scanned opens the machine whose tag was scanned, and takes the scan out of the field where its characters went.
func (d *Desk) scanned() bool {
	b := d.burst
	tag, err := registry.ParseTag(b.text)
	if err != nil || len(b.text) < 3 {
		return false
	}
	ours := strings.HasPrefix(string(tag), d.Config.House.Letters)
	if b.field != nil && !ours && !d.here(tag) {
		return false // another house's tag in a field is text
	}
	d.burst = burst{}
	d.message = ""
	if b.field != nil {
		*b.field = b.before
	}
	if b.known != nil {
		*b.known = b.chosen
	}
	d.found(tag)
	return true
}

// found gives a scanned tag to the screen that waits for one, or opens it; nobody works before it is known who they are.
func (d *Desk) found(tag registry.Tag) {
	if s, ok := d.top().(scanner); ok && s.scan(d, tag) {
		return
	}
	if w, ok := d.top().(*who); ok && !w.chosen {
		w.then = func(d *Desk) { d.open(tag) }
		d.say("%s is next. First say who you are.", tag)
		return
	}
	d.open(tag)
}

// scanner is a screen that waits for a tag.
type scanner interface {
	scan(d *Desk, tag registry.Tag) bool
}
