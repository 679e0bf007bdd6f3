package desk

import (
	"pitman/registry"
)

// howTo tells a newcomer how the desk works, on one page.
type howTo struct{ reading }

func (h *howTo) view(d *Desk, width int) page {
	p := page{title: "How the desk works", keys: "Up, Down look further   Esc back", cursor: -1,
		scroll: &h.reading}
	for _, words := range []string{
		"Letters on the left do what stands beside them. One press is enough, small or capital.",
		"To sell, scrap, strip, ship or undo takes an Enter by itself, on a page that says what will " +
			"happen. Wait a moment and read it: an Enter that ends a word or a scan does nothing there.",
		"A maker, a tag or a number typed where the page waits for one key is looked up; none of its " +
			"letters is taken for a key.",
		"Scan a tag at any time, even while you type: that machine opens, with what can be done with it " +
			"now. What you typed stays.",
		"Esc goes back one step. Nothing is lost: what is half done waits for you, and a machine you are " +
			"logging is kept even if the plug is pulled.",
		"In a form, Enter goes to the next line. Up and Down choose from what is known already, = takes " +
			"what the last machine had, and ? stands for a character that you can't read.",
		"Something went wrong? Press u for undo, or ask the person beside you. The history keeps what " +
			"stood there before.",
		"Top right is who the desk thinks you are. If that is not you, go home with Esc and press w.",
		"Above all: " + registry.CautionMains.Text(),
		registry.CautionLifting.Text(),
	} {
		p.words(width, plain, words)
		p.add(nil)
	}
	return p
}
