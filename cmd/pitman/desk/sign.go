package desk

import (
	"errors"
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/pin"
	"pitman/registry/stock"
)

// signs asks for the PIN of whoever signs, and then goes on with what is to be signed.
type signs struct {
	who   registry.Initials
	what  string // what is signed
	then  func(*Desk)
	field editor
}

func (s *signs) typing() *editor { return &s.field }

func (s *signs) view(_ *Desk, width int) page {
	p := page{title: fmt.Sprintf("PIN of %s", s.who), keys: "Enter go on   Esc back, and sign nothing",
		cursor: -1}
	p.words(width, plain, fmt.Sprintf("%s signs with a PIN: %s. Type it and press Enter. It counts for %d "+
		"minutes, as long as %s is at this desk.", s.who, s.what, int(pin.Life.Minutes()), s.who))
	p.add(nil)
	p.hidden("PIN   ", &s.field, width)
	return p
}

// hidden is a field whose letters nobody sees.
func (p *page) hidden(label string, e *editor, width int) {
	shown := editor{before: strings.Repeat("*", len([]rune(e.before))),
		after: strings.Repeat("*", len([]rune(e.after)))}
	p.input(label, &shown, width)
}

func (s *signs) key(d *Desk, k *tcell.EventKey) {
	if s.field.key(k) || k.Key() != tcell.KeyEnter {
		return
	}
	typed := s.field.text()
	s.field = editor{}
	if typed == "" {
		d.say("Type the PIN of %s first.", s.who)
		return
	}
	d.checked = true
	proof, err := d.Pins.Give(d.ctx, s.who, typed)
	if d.refuse(err) {
		return
	}
	d.drop(s)
	d.proven(proof, s.then)
	if s.who != d.by { // somebody else has signed for this alone
		d.ctx = d.unsigned
	}
}

// proven goes on with the signature of whoever is there.
func (d *Desk) proven(proof *pin.Proof, then func(*Desk)) {
	d.ctx = stock.WithProof(d.unsigned, proof)
	then(d)
}

// toSign asks for the PIN where that is all that is missing, or has the person who is there choose their
// first, and says whether it does.
func (d *Desk) toSign(refused error, then func(*Desk)) bool {
	var wanted *pin.Wanted
	switch {
	case errors.As(refused, &wanted):
		d.push(&signs{who: wanted.Who, what: wanted.What, then: then})
	case refused != nil && pin.Unset(refused) == d.by:
		d.push(&choosesPIN{then: then})
		d.refuse(refused)
	default:
		return false
	}
	return true
}

// choosePIN has whoever is there choose the PIN by which they sign; the present one is asked for before.
func choosePIN(d *Desk) {
	gives, err := d.Pins.MaySet(d.ctx, d.by, d.by)
	if d.refuse(err) {
		return
	}
	choose := func(d *Desk) { d.push(&choosesPIN{then: func(*Desk) {}}) }
	if gives == "" {
		choose(d)
		return
	}
	d.push(&signs{who: gives, what: "another PIN", then: choose})
}

// choosesPIN asks for a new PIN, twice.
type choosesPIN struct {
	fresh string // once it was typed
	then  func(*Desk)
	field editor
}

func (c *choosesPIN) typing() *editor { return &c.field }

func (c *choosesPIN) view(d *Desk, width int) page {
	p := page{title: fmt.Sprintf("A PIN for %s", d.by), keys: "Enter go on   Esc back, and change nothing",
		cursor: -1}
	p.words(width, plain,
		"You sign with it for a safety pass, for the word that nothing on a machine takes the mains any "+
			"more, and for an untested sale. Choose six figures or more, or a few words, and tell nobody.")
	p.add(nil)
	if c.fresh == "" {
		p.hidden("New PIN          ", &c.field, width)
	} else {
		p.hidden("The same again   ", &c.field, width)
	}
	return p
}

func (c *choosesPIN) esc(*Desk) bool {
	again := c.fresh != ""
	c.fresh, c.field = "", editor{}
	return again
}

func (c *choosesPIN) key(d *Desk, k *tcell.EventKey) {
	if c.field.key(k) || k.Key() != tcell.KeyEnter {
		return
	}
	typed := c.field.text()
	c.field = editor{}
	if c.fresh == "" {
		fresh, err := pin.Read(typed)
		if !d.refuse(err) {
			c.fresh = fresh
		}
		return
	}
	if d.refuse(pin.Same(c.fresh, typed)) {
		c.fresh = ""
		return
	}
	d.checked = true
	_, err := d.Pins.Set(d.ctx, d.by, d.by, c.fresh)
	if d.refuse(err) {
		c.fresh = ""
		return
	}
	proof, err := d.Pins.Give(d.ctx, d.by, c.fresh)
	if d.refuse(err) {
		return
	}
	d.drop(c)
	d.say("%s has a PIN now.", d.by)
	d.proven(proof, c.then)
}
