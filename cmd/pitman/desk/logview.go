package desk

import "strings"

const labelWidth = 15

// rows are the fields in the order of the form, with the letter that asks for each.
var rows = []struct {
	key   rune
	name  string
	label string
	rare  bool // shown in full only when it is filled in
}{
	{'m', "maker", "Maker", false},
	{'s', "serial", "Serial", false},
	{'d', "drive", "Drive", false},
	{'o', "model", "Model", false},
	{'c', "condition", "Condition", false},
	{'g', "donor", "Given by", false},
	{'p', "place", "Place", false},
	{'n', "note", "Note", false},
	{'t', "stitch", "Stitch", true},
	{'a', "arrived-with", "Came with base", true},
	{'b', "patent", "Patent number", true},
	{'y', "patent-date", "Patent year", true},
	{'r', "seen", "Dated receipt", true},
	{'k', "clue", "Mark on it", true},
}

func label(name string) string {
	for _, r := range rows {
		if r.name == name {
			return r.label
		}
	}
	return name
}

var hints = map[string]string{
	"maker": "The name on the bed or the badge. The first letters will do. No name at all? Type unknown.",
	"serial": "The number stamped on the bed. Type ? for each character you can't read, none if " +
		"there is no number.",
	"drive":        "What turns it?",
	"model":        "Enter alone leaves it empty.",
	"condition":    "How does it look? Complete, seized, rusty. Enter alone leaves it empty.",
	"donor":        "Who gave it? It stays for the whole load, until you change it.",
	"place":        "Where will it stand? It stays for the whole load, until you change it.",
	"note":         "Anything else worth knowing.",
	"stitch":       "What does it sew?",
	"arrived-with": "Scan or type the tag of the base it came with.",
	"patent": "Patent number on bed or arm; several with commas. Type NO@part if it stands on a part " +
		"that comes off.",
	"patent-date": "Year of a patent date stamped on it; several with commas.",
	"seen":        "Year of a dated receipt or photograph of it; several with commas.",
}

// choices are the fields that a single key answers.
var choices = map[string][]struct{ key, value string }{
	"drive":  {{"h", "hand"}, {"t", "treadle"}, {"e", "electric"}},
	"stitch": {{"l", "lockstitch"}, {"c", "chainstitch"}, {"z", "zigzag"}, {"o", "overlock"}},
}

func (f *logForm) view(d *Desk, width int) page {
	p := page{title: "Log a machine", cursor: -1}
	switch {
	case f.fixes != "":
		p.title = "Correct " + string(f.fixes)
	case d.unfinished != nil && d.blank != "":
		p.title += ", on the blank tag " + string(d.blank)
	}
	warnings(d, &p, &f.m)
	summary := f.at == ""
	rare := [][]piece{{{"   more  ", plain}}}
	for _, r := range rows {
		value := f.value(r.name)
		if r.rare && value == "" && f.at != r.name {
			if summary {
				if n := len(rare) - 1; len(rare[n]) > 6 {
					rare = append(rare, []piece{{"         ", plain}})
				}
				n := len(rare) - 1
				rare[n] = append(rare[n], piece{string(r.key), strong},
					piece{" " + strings.ToLower(r.label) + "   ", plain})
			}
			continue
		}
		if !summary && value == "" && f.at != r.name && r.name != "serial" && r.name != "drive" {
			continue // one thing at a time
		}
		letter := piece{"   ", plain}
		if summary {
			letter = piece{" " + string(r.key) + " ", strong}
		}
		l := line{letter, {pad(r.label, labelWidth), plain}}
		switch {
		case f.at == r.name && choices[r.name] != nil:
			for _, c := range choices[r.name] {
				l = append(l, piece{c.key, strong}, piece{" " + c.value + "    ", plain})
			}
			p.focus = len(p.body)
		case f.at == r.name:
			shown, at := f.field.window(width - labelWidth - 4)
			l = append(l, piece{shown, strong})
			p.focus, p.cursor = len(p.body), labelWidth+3+at
		default:
			l = append(l, piece{clip(value, width-labelWidth-3), strong})
		}
		if (r.name == "donor" || r.name == "place") && value != "" && f.fixes == "" && f.at != r.name &&
			value == d.load.of(r.name) {
			l[len(l)-1].text = clip(value, width-labelWidth-25)
			l = append(l, piece{"   same as last", plain})
		}
		p.add(l)
		if r.name == "serial" && f.year != "" {
			for _, l := range wrap(f.year, width-labelWidth-3) {
				p.add(text(strings.Repeat(" ", labelWidth+3) + l))
			}
		}
		if f.at == r.name {
			f.showHelp(d, &p, width)
		}
	}
	if !summary {
		p.keys = "Enter next"
		if choices[f.at] != nil {
			p.keys = "Press a letter"
		}
		p.keys += "   Esc back"
		if f.fixes == "" {
			p.keys += ", and keep it for later"
		}
		return p
	}
	for _, l := range rare {
		if len(l) > 1 {
			p.add(l)
		}
	}
	p.add(nil)
	switch {
	case f.fixes != "":
		p.add(line{{" Enter ", strong}, {"keeps the corrections    Esc leaves it as it was", plain}})
		p.keys = "Enter keep   a letter changes that line   Esc back"
	case f.twin != "" && !f.again:
		p.add(line{{clip(" This maker and serial are in the house already, as "+string(f.twin)+". ", width),
			marked}})
		p.add(line{{" u ", strong}, {"it is another one    ", plain}, {"v ", strong},
			{"view " + string(f.twin) + "    ", plain},
			{"x ", strong}, {"throw this one away", plain}})
		p.keys = "u, v or x   a letter changes that line   Esc later"
	default:
		p.add(line{{" Enter ", strong}, {"logs it    ", plain}, {"x ", strong},
			{"throws it away    a letter changes that line", plain}})
		p.keys = "Enter log it   Esc later"
	}
	return p
}

func (l load) of(name string) string {
	if name == "donor" {
		return l.donor
	}
	return l.place
}

// showHelp puts what helps with the field being asked under it.
func (f *logForm) showHelp(d *Desk, p *page, width int) {
	f.offerKeys.show(p, f.field.text(), width-labelWidth-6)
	if same := f.same(d); same != "" && f.field.text() == "" {
		p.add(line{{strings.Repeat(" ", labelWidth+3), plain}, {"=", strong},
			{" same as last: " + clip(same, width-labelWidth-22), plain}})
	}
	for _, l := range wrap(hints[f.at], width-labelWidth-3) {
		p.add(text(strings.Repeat(" ", labelWidth+3) + l))
	}
}
