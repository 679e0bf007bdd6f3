package desk

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry/stock"
)

// offers are the words known already, narrowed by what is being typed.
type offerKeys struct {
	all   []string
	found []string
	at    int  // the chosen one counted from 1; 0 is what was typed
	eager bool // Enter takes the first without being asked: for names that should be spelt one way
	asks  bool // it is asked whether one of them was meant
}

// hint asks whether a known word was meant; it says whether there is anything to ask. A word of which it was
// asked already counts as it was typed.
func (o *offerKeys) hint(d *Desk, field, maker, typed string, hinted *string) bool {
	if *hinted == field+" "+typed {
		return false
	}
	hint, ask, err := d.Words().Hint(d.ctx, field, maker, typed)
	if d.refuse(err) || !ask {
		return false
	}
	*hinted = field + " " + typed
	o.found, o.at, o.asks = hint.Choices(), 1, true
	d.say("%s", hint.Says())
	return true
}

const maxOffered = 5

// offerer is a screen that offers known words beside its field.
type offerer interface{ offering() *offerKeys }

// narrow looks what begins with the typed letters: the whole name first, then a word within it.
func (o *offerKeys) narrow(typed string) {
	typed = strings.ToLower(strings.TrimSpace(typed))
	o.found, o.at, o.asks = nil, 0, false
	var within []string
	for _, name := range o.all {
		switch low := strings.ToLower(name); {
		case strings.HasPrefix(low, typed):
			o.found = append(o.found, name)
		case strings.Contains(low, " "+typed):
			within = append(within, name)
		}
	}
	o.found = append(o.found, within...)
	if o.eager && typed != "" && len(o.found) > 0 {
		o.at = 1
	}
}

// take says what Enter means: the chosen name, the known one that was typed in full, or the words as typed.
func (o *offerKeys) take(typed string) string {
	typed = strings.TrimSpace(typed)
	if i := slices.IndexFunc(o.all, func(n string) bool { return strings.EqualFold(n, typed) }); i >= 0 &&
		o.at <= 1 {
		return o.all[i]
	}
	if o.at > 0 && o.at <= len(o.found) {
		return o.found[o.at-1]
	}
	if key := stock.MakerKey(typed); o.eager && key != "" {
		if i := slices.IndexFunc(o.all, func(n string) bool { return stock.MakerKey(n) == key }); i >= 0 {
			return o.all[i]
		}
	}
	return typed
}

// key moves the choice; it says whether it did.
func (o *offerKeys) key(k *tcell.EventKey) bool {
	n := len(o.found) + 1 // what was typed is one of the choices
	switch k.Key() {
	case tcell.KeyDown:
		o.at = (o.at + 1) % n
	case tcell.KeyUp:
		o.at = (o.at + n - 1) % n
	default:
		return false
	}
	return true
}

func (o *offerKeys) show(p *page, typed string, width int) {
	from := max(0, min(o.at-maxOffered, len(o.found)-maxOffered))
	shown := o.found[from:min(from+maxOffered, len(o.found))]
	for i, name := range shown {
		mark, h := "  ", plain
		if from+i+1 == o.at {
			mark, h = "▸ ", marked
		}
		p.add(line{{strings.Repeat(" ", labelWidth+3) + mark, plain}, {clip(name, width), h}})
	}
	if more := len(o.found) - len(shown) - from; more > 0 {
		p.add(text(fmt.Sprintf("%s  and %d more: Down, or a letter more", strings.Repeat(" ", labelWidth+3),
			more)))
	}
	if typed != "" && len(o.found) > 0 && (o.eager || o.asks) {
		mark, h := "  ", plain
		if o.at == 0 {
			mark, h = "▸ ", marked
		}
		p.add(line{{strings.Repeat(" ", labelWidth+3) + mark, plain},
			{clip("just as typed: "+typed, width), h}})
	}
}
