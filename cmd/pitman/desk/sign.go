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
	what  string // the refusal of what was not signed
	then  func(*Desk)
	field editor
}

func (s *signs) typing() *editor { return &s.field }

func (s *signs) view(_ *Desk, width int) page {
	p := page{title: fmt.Sprintf("PIN of %s", s.who), keys: "Enter go on   Esc back, and sign nothing",
		cursor: -1}
	p.words(width, plain, fmt.Sprintf("%s. Type it and press Enter. It counts for %d minutes, as long as %s "+
		"is at this desk.", s.what, int(pin.Life.Minutes()), s.who))
	p.add(nil)
	shown := editor{before: strings.Repeat("*", len([]rune(s.field.before))),
		after: strings.Repeat("*", len([]rune(s.field.after)))}
	p.input("PIN   ", &shown, width)
	return p
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
	proof, err := d.Pins.Give(d.ctx, s.who, typed)
	if d.refuse(err) {
		return
	}
	d.drop(s)
	d.ctx = stock.WithProof(d.unsigned, proof)
	s.then(d)
	if s.who != d.by { // somebody else has signed for this alone
		d.ctx = d.unsigned
	}
}

// toSign asks for the PIN where that is all that is missing, and says whether it does.
func (d *Desk) toSign(refused error, then func(*Desk)) bool {
	var wanted *pin.Wanted
	if !errors.As(refused, &wanted) {
		return false
	}
	d.push(&signs{who: wanted.Who, what: wanted.Error(), then: then})
	return true
}
