package desk

import (
	"fmt"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/offers"
	"pitman/registry/packing"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// doing is how the desk begins a step: the key, and what it asks.
type doing[T any] struct {
	key   rune
	start func(d *Desk, of *T)
}

// headKeys are the keys of the steps of a machine.
func headKeys() map[string]doing[stock.Machine] {
	return map[string]doing[stock.Machine]{
		"refurbish": {'r', triage("refurbish")},
		"test":      {'t', startTest},
		"safety":    {'e', startSafety},
		"bench":     {'b', benchStart},
		"work":      {'w', benchNote},
		"finish":    {'d', benchFinish},
		"take":      {'k', takePart},
		"fit":       {'f', fitPart},
		"need":      {'n', needPart},
		"release":   {'g', release},
		"arrived":   {'z', reportBack},
		"convert":   {'v', convert},
		"parts":     {'p', triage("parts")},
		"sale":      {'s', triage("sale")},
		"scrap":     {'x', triage("scrap")},
		"hold":      {'h', hold},
		"place": {'m', func(d *Desk, m *stock.Machine) {
			move(d, m.Tag, m.Place, m, registry.CautionLifting.Text())
		}},
		"correct": {'c', func(d *Desk, m *stock.Machine) { d.push(newAmend(m)) }},
		"undo":    {'u', func(d *Desk, m *stock.Machine) { undoOn(d, m.Tag, m) }},
	}
}

// keysFor are the open steps of a head or base on their keys.
func keysFor[T any](steps []offers.Step, moves []offers.Offer, keys map[string]doing[T], of *T) []item {
	var items []item
	for _, s := range offers.Open(steps, moves) {
		do := keys[s.Name]
		items = append(items, item{do.key, s.Label, func(d *Desk) { do.start(d, of) }})
	}
	return items
}

// actions lists what may be done with a machine now, then what the desk shows of it.
func (d *Desk) actions(m *stock.Machine) []item {
	moves, err := d.AllowedMoves(d.ctx, d.by, m)
	d.refuse(err)
	items := append(keysFor(offers.HeadSteps(), moves, headKeys(), m), d.labelItem(m.Tag)...)
	return append(items,
		item{'o', "other details and measures", func(d *Desk) { d.push(machineSheet(m.Tag)) }},
		item{'i', "what happened to it", func(d *Desk) { d.push(&history{tag: m.Tag, m: m}) }})
}

// faults are what the last test of a machine found, while they are open.
func (d *Desk) faults(m *stock.Machine) []string {
	_, failed, err := d.FaultSlip(d.ctx, m.Tag)
	if err != nil {
		if registry.CodeOf(err) != registry.NotFound {
			d.refuse(err)
		}
		return nil
	}
	var lines []string
	for _, p := range failed.Faults() {
		lines = append(lines, "to mend: "+p.Point+", "+p.Fault)
	}
	return lines
}

// why asks for a reason, with the house's list offered.
func why(d *Desk, way string) question {
	q := question{name: "why", label: "Why",
		hint: "Up and Down choose from the house's list, or type your own words."}
	list, err := d.Lists.Stock.Reasons()
	d.refuse(err)
	for _, r := range list {
		if r.Way == way {
			q.offerKeys = append(q.offerKeys, r.Why)
		}
	}
	return q
}

// secondLook asks who else looked at an old machine.
func secondLook() question {
	return question{name: "seen", label: "Second look by", hint: "Initials of that person, who is not you.",
		check: func(_ answers, typed string) error { _, err := registry.ParseInitials(typed); return err }}
}

func triage(way string) func(*Desk, *stock.Machine) {
	return func(d *Desk, m *stock.Machine) {
		f := &form{m: m,
			title: fmt.Sprintf("%s: %s", m.Tag,
				map[string]string{"refurbish": "refurbish it", "parts": "strip it for parts",
					"sale": "sell it", "scrap": "scrap it"}[way]), asked: []question{why(d, way)}}
		if way != "refurbish" {
			f.notes = append(f.notes, registry.CautionLifting.Text())
			f.grave, f.final = true, goodbye(way, m.Tag)
			f.asked = append(f.asked, d.brought(way)...)
		} else {
			f.asTyped = fmt.Sprintf("has %s wait for a bench, for the reason typed above", m.Tag)
		}
		if d.SecondLook(m, stock.Outcome(way)) {
			f.notes = append(f.notes, m.LooksTwice())
			f.asked = append(f.asked, secondLook())
		}
		f.do = func(d *Desk, a answers) (string, error) {
			var seen registry.Initials
			if a["seen"] != "" {
				var err error
				if seen, err = registry.ParseInitials(a["seen"]); err != nil {
					return "", err
				}
			}
			ctx, err := d.BringingTyped(d.ctx, m.Tag, way, a["brought"])
			if err != nil {
				return "", err
			}
			done, err := d.Triage(ctx, d.by, m.Tag, way, a["why"], seen)
			if err != nil {
				return "", err
			}
			return done.WhereNow(), nil
		}
		if way == "sale" {
			earlier, err := d.EarlierSales(d.ctx, m)
			if d.refuse(err) {
				return
			}
			for _, e := range earlier {
				f.notes = append(f.notes, e.Said())
			}
		}
		d.begin(f)
	}
}

// brought asks what a sale or scrap brought.
func (d *Desk) brought(way string) []question {
	if !takings.Brings(way) {
		return nil
	}
	return []question{{name: "brought", label: "It brought", maybe: true,
		hint: "An amount such as 45.00. Enter alone if nobody knows it yet.",
		check: func(_ answers, typed string) error {
			_, err := d.BringingTyped(d.ctx, "", way, typed)
			return err
		}}}
}

// goodbye says what Enter does to a head or base that is to leave the work.
func goodbye(way string, tag registry.Tag) string {
	return map[string]string{
		"parts": fmt.Sprintf("strips %s: its parts go to the shelf, and it will not sew again", tag),
		"sale":  fmt.Sprintf("sells %s: it leaves the workshop", tag),
		"scrap": fmt.Sprintf("scraps %s: it is thrown away", tag),
	}[way]
}

func hold(d *Desk, m *stock.Machine) {
	d.begin(&form{m: m, title: fmt.Sprintf("%s: hold it", m.Tag), asked: []question{why(d, "hold")},
		do: func(d *Desk, a answers) (string, error) {
			_, err := d.Hold(d.ctx, d.by, m.Tag, a["why"])
			return fmt.Sprintf("%s is held, and goes back to %s.", m.Tag, m.Stage), err
		}})
}

func release(d *Desk, m *stock.Machine) {
	d.begin(&form{m: m, title: fmt.Sprintf("%s: let it go on", m.Tag), final: "lets it go on, at: " +
		string(m.HeldFrom),
		do: func(d *Desk, _ answers) (string, error) {
			done, err := d.Release(d.ctx, d.by, m.Tag, "")
			if err != nil {
				return "", err
			}
			return done.WhereNow(), nil
		}})
}

// move puts a head or base in another place.
func move(d *Desk, tag registry.Tag, from string, m *stock.Machine, caution string) {
	d.begin(&form{m: m, title: fmt.Sprintf("%s: move it", tag),
		notes: []string{"It stands at: " + orNowhere(from), caution},
		asked: []question{{name: "place", label: "New place", word: "place", offerKeys: d.places(),
			hint: "Type the place, or choose one with Up and Down."}},
		do: func(d *Desk, a answers) (string, error) {
			place, err := d.PlaceNamed(d.ctx, a["place"])
			if err == nil {
				_, err = d.Move(d.ctx, d.by, []registry.Tag{tag}, place)
			}
			return fmt.Sprintf("%s stands at %s.", tag, place), err
		}})
}

func (d *Desk) places() []string {
	places, err := d.Used(d.ctx, stock.ColumnPlace, "")
	d.refuse(err)
	return places
}

func orNowhere(place string) string {
	if place == "" {
		return "nobody said where"
	}
	return place
}

func convert(d *Desk, m *stock.Machine) {
	var to []pick
	for _, drive := range registry.Drives {
		if drive != m.Drive {
			to = append(to, pick{rune(drive[0]), string(drive), string(drive)})
		}
	}
	d.begin(&form{m: m, title: fmt.Sprintf("%s: convert it from %s", m.Tag, m.Drive), final: "converts it",
		notes: []string{"Tests of the old drive count no longer. Note fitted and removed parts at the " +
			"bench. " +
			registry.CautionMains.Text()},
		asked: []question{{name: "to", label: "To which drive?", picks: to},
			{name: "why", label: "Why", maybe: true,
				hint: "Enter alone leaves it empty."}},
		do: func(d *Desk, a answers) (string, error) {
			done, err := d.Convert(d.ctx, d.by, m.Tag,
				spares.Conversion{To: registry.Drive(a["to"]), Why: a["why"]})
			if err != nil {
				return "", err
			}
			return done.WhereNow(), nil
		}})
}

func reportBack(d *Desk, m *stock.Machine) {
	d.begin(&form{m: m, title: fmt.Sprintf("%s: what the training centre says", m.Tag), asked: []question{
		{name: "damage", label: "Travel damage", maybe: true,
			hint: "What broke on the way. Enter alone if nothing did."},
		{name: "fault", label: "Faults", maybe: true, hint: "Enter alone if there are none."},
		{name: "note", label: "Anything else", maybe: true}},
		do: func(d *Desk, a answers) (string, error) {
			said := packing.Arrival{Note: a["note"]}
			if a["damage"] != "" {
				said.Transit = registry.List[string]{a["damage"]}
			}
			if a["fault"] != "" {
				said.Faults = registry.List[string]{a["fault"]}
			}
			_, err := d.ReportBack(d.ctx, d.by, m.Tag, said)
			return "Written down.", err
		}})
}

// labelItem prints the label of a head or base, where one can be printed.
func (d *Desk) labelItem(tag registry.Tag) []item {
	if d.Label == nil {
		return nil
	}
	return []item{{'a', "label: print it", func(d *Desk) {
		where, err := d.Label(d.by, tag)
		if !d.refuse(err) {
			d.say("%s", where)
		}
	}}}
}

// minutes reads time spent.
func minutes(typed string) (int, error) {
	if typed == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSpace(typed), " min"))
	if err != nil {
		return 0, registry.Errorf(registry.Invalid, "minutes %q is no number: type whole minutes, such as 45",
			typed)
	}
	return n, nil
}
