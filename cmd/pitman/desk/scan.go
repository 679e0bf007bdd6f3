package desk

import (
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// A scanner leaves some milliseconds between characters, more by radio or over a slow line; people's fingers
// need 60 or more and do not type a tag with its check character without a pause. From common practice, tried
// with keys sent through tmux.
const (
	scanGap   = 150 * time.Millisecond // the longest wait within one scan
	singleKey = 60 * time.Millisecond  // a small letter alone is a chosen key after this
	// a capital may begin a scan over a slow line; people choose with small letters
	firstKey = 200 * time.Millisecond

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

	// On a page of single keys (see word.go):
	acted bool    // the first letter did what its key does,
	was   *memory // before which the desk stood so
	dead  bool    // or it does nothing there
	waits bool    // it is no scan, but may go on as a word
	words *words
}

// Key takes a key at a time.
func (d *Desk) Key(k *tcell.EventKey, at time.Time) {
	d.Tick(at)
	d.now = at
	if k.Modifiers()&tcell.ModAlt != 0 && !d.pasting {
		// Esc and the next key came in one packet, over a slow line or from quick fingers; nobody presses Alt
		// here.
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
	d.rested, d.afterLetter = at.Sub(d.pressed), d.lettered
	d.pressed, d.lettered = at, k.Key() == tcell.KeyRune
	switch k.Key() {
	case tcell.KeyRune:
		if b.text == "" || at.Sub(b.last) > b.gap() || (b.field != nil && d.top().typing() != b.field) {
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
		if b.field != nil {
			d.deliver(k)
			return
		}
		b.held, b.waits = append(b.held, k), false
		if b.acted {
			d.weigh()
		}
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
	for len(d.burst.held) > 0 && !at.Before(d.burstDeadline()) {
		switch b := &d.burst; {
		case !b.acted && len(b.held) == 1:
			d.actFirst()
		case !b.acted && !b.waits && looksLikeTag.MatchString(b.text) && !b.isTag():
			b.waits = true // more of it may come
		case !b.acted && !b.waits && !looksLikeTag.MatchString(b.text) && !b.tooFastForFingers():
			d.actFirst()
			d.weigh()
		default:
			d.release()
		}
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
		return d.burstDeadline()
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

func (b *burst) isTag() bool {
	_, err := registry.ParseTag(b.text)
	return err == nil && len(b.text) > 2
}

// gap is the longest wait between two keys of one burst.
func (b *burst) gap() time.Duration {
	if b.field != nil {
		return scanGap
	}
	return typingGap
}

func (d *Desk) burstDeadline() time.Time {
	b := &d.burst
	switch {
	case b.acted || b.waits:
		return b.last.Add(typingGap)
	case len(b.held) > 1:
		return b.last.Add(scanGap)
	}
	if key := letter(b.held[0]); d.writes(key) || d.hurts(key) {
		return b.last.Add(typingGap)
	}
	if strings.ToUpper(b.text) == b.text && strings.ToLower(b.text) != b.text {
		return b.last.Add(firstKey)
	}
	return b.last.Add(singleKey)
}

// actFirst does what the first key of a burst does, and remembers how the desk stood before.
func (d *Desk) actFirst() {
	b := &d.burst
	k := b.held[0]
	b.held, b.acted, b.was = b.held[1:], true, d.remember()
	if len(b.held) > 0 && d.writes(letter(k)) {
		b.dead = true
		d.say("%q was typed in a row. Press %s by itself, after a moment, if you mean it.", b.text,
			string(letter(k)))
		return
	}
	d.stray = false
	d.deliver(k)
	d.burst.dead = d.stray
}

// release ends the burst: it was no scan, so it is a word, or its keys are chosen one after another. It says
// whether an Enter behind them counts.
func (d *Desk) release() bool {
	b := &d.burst
	defer func() { d.burst = burst{} }()
	if len(b.held) == 0 {
		return true
	}
	if !b.acted {
		if len(b.held) > 2 && looksLikeTag.MatchString(b.text) {
			// A scan that went wrong must not press keys; one that only lacks its Enter is good.
			tag, err := registry.ParseTag(b.text)
			if err != nil && !strings.HasPrefix(strings.ToUpper(b.text), d.Config.House.Letters) {
				d.takeWord() // a serial
				return true
			}
			if !d.refuse(err) {
				d.found(tag)
			}
			return false
		}
		if b.tooFastForFingers() { // a code on a packet or a telephone
			d.message = ""
			d.warn("%q was scanned, which is no tag of a machine or base. Nothing was done.",
				clip(b.text, 30))
			return false
		}
		if d.actFirst(); len(b.held) > 0 {
			d.weigh()
		}
	}
	switch {
	case len(b.held) == 0:
	case b.dead:
		unknown(d, b.held[0])
	default:
		d.deliverRow()
	}
	return true
}

// tooFastForFingers tells a scan of something that is no tag from keys that a quick person presses in one
// breath, and from one that is held down.
func (b *burst) tooFastForFingers() bool {
	first, _ := utf8.DecodeRuneInString(b.text)
	n := utf8.RuneCountInString(b.text)
	return strings.Trim(b.text, string(first)) != "" && n >= fewestScanned &&
		b.last.Sub(b.first) < time.Duration(n-1)*fastest
}

// looksLikeTag is the shape of every tag, whether its check character fits or not, and of what is left of
// one.
var looksLikeTag = regexp.MustCompile(`^[A-Za-z]{1,4}[0-9]+[0-9A-Za-z]?$`)

// scanned opens the machine whose tag was scanned, and takes the scan out of the field where its characters
// went.
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
	if b.was != nil {
		d.forget(b.was)
	}
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

// found gives a scanned tag to the screen that waits for one, or opens it; nobody works before it is known
// who they are.
func (d *Desk) found(tag registry.Tag) {
	then := func(d *Desk) { d.open(tag) }
	if d.isBlank(tag) {
		then = func(d *Desk) { d.hang(tag) }
	} else if s, ok := d.top().(scanner); ok && s.scan(d, tag) {
		return
	}
	if w, ok := d.top().(*who); ok && !w.chosen {
		w.then = then
		d.say("%s is next. First say who you are.", tag)
		return
	}
	then(d)
}

// scanner is a screen that waits for a tag.
type scanner interface {
	scan(d *Desk, tag registry.Tag) bool
}
