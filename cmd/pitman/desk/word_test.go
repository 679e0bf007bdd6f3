package desk

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/shelf"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// typed presses letters so many milliseconds apart.
func (s *seat) typed(text string, ms int) *seat {
	for _, r := range text {
		s.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), time.Duration(ms)*time.Millisecond)
	}
	return s
}

func (s *seat) enter(ms int) *seat {
	s.key(tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone), time.Duration(ms)*time.Millisecond)
	return s
}

// The speeds of typing that there are, from a scanner to one finger.
var speeds = []int{5, 20, 55, 70, 120, 180, 250, 330, 400}

// On the page that shows a new tag, whoever does not look up types the next maker.
func TestMakerTypedOnTheLabelPageIsTheNextMaker(t *testing.T) {
	for i, word := range []string{"ostermann", "Ostermann", "alder", "orwell", "sponholz"} {
		for j, speed := range speeds[1:] {
			if os.Getenv("NIGHTLY") == "" && (i+j)%3 != 0 {
				continue
			}
			s := sit(t, "QX")
			s.d.Label = func(registry.Initials, registry.Tag) (string, error) {
				t.Error("a label was printed")
				return "", nil
			}
			s.press("l", "har", "Enter", "K9", "Enter", "h", "Enter").sees("Write this on the tie-on label")
			s.typed(word, speed).wait(time.Second)
			require.Equal(t, registry.Logged, s.machine("PM16").Stage, "%s at %d ms", word, speed)
			if speed < int(fastest/time.Millisecond) {
				continue // that was no person
			}
			s.sees("Log a machine", "Maker          "+word)
			s.press("Enter").sees("The number stamped on the bed")
		}
	}
}

func TestWordTypedOnAPageOfKeysIsLookedUp(t *testing.T) {
	for _, speed := range speeds {
		t.Run(fmt.Sprint(speed), func(t *testing.T) {
			s := sit(t, "QX")
			m, other := s.add("Ostermann", "B901", registry.Hand),
				s.add("Harrow & Finch", "K20417", registry.Treadle)
			base := &stock.Base{Pattern: "Alder"}
			require.NoError(t, s.d.AddBase(s.d.ctx, "MB", base))
			for _, page := range []registry.Tag{"", m.Tag, base.Tag} {
				for _, row := range []struct{ word, sees string }{
					{string(other.Tag), string(other.Tag) + "   Harrow"},
					{strings.ToLower(string(other.Tag)), string(other.Tag) + "   Harrow"},
					{"K20417", string(other.Tag) + "   Harrow"}, {"finch", string(other.Tag) + "   Harrow"},
					{"harrow", string(other.Tag) + "   Harrow"},
				} {
					s.d.enter("QX")
					if page != "" {
						s.scan(string(page))
					}
					s.wait(time.Second).typed(row.word, speed).enter(speed).wait(time.Second)
					if !strings.Contains(s.page(), "which is no tag") { // a scanner read a code that is none
						s.sees(row.sees)
					}
					require.Equal(t, registry.Logged, s.machine(m.Tag).Stage)
					require.Equal(t, registry.Logged, s.machine(other.Tag).Stage)
				}
			}
		})
	}
}

// A house whose letters are keys of the machine's page.
func TestTagOfLettersThatAreKeys(t *testing.T) {
	for _, speed := range speeds {
		s := sit(t, "QX")
		s.d.Config.House.Letters = "XS"
		m := s.add("Ostermann", "B901", registry.Hand)
		require.True(t, strings.HasPrefix(string(m.Tag), "XS"))
		s.scan(string(m.Tag)).wait(time.Second).typed(strings.ToLower(string(m.Tag)),
			speed).enter(speed).wait(time.Second)
		s.sees(string(m.Tag)+"   Ostermann").wait(time.Second).typed("xs2n",
			speed).enter(speed).wait(time.Second)
		require.Equal(t, registry.Logged, s.machine(m.Tag).Stage, "%d ms", speed)
	}
}

// One key and what it asks for are typed in one go by whoever knows the desk.
func TestAKeyAndItsAnswerInOneGo(t *testing.T) {
	for _, speed := range speeds[2:] {
		s := sit(t, "QX")
		s.typed("lhar", speed).wait(time.Second).sees("Log a machine", "Maker          har")
		s = sit(t, "QX")
		s.typed("lost", speed).wait(time.Second).sees("Log a machine", "Maker          ost", "▸ Ostermann")
		s = sit(t, "QX")
		m := s.add("Harrow & Finch", "K7", registry.Hand)
		s.scan(string(m.Tag)).wait(time.Second).typed("rcomplete and turns",
			speed).enter(speed).sees("is now queued")
		// A reason that nobody offers may be a word that was meant elsewhere.
		other := s.add("Harrow & Finch", "K8", registry.Hand)
		s.scan(string(other.Tag)).wait(time.Second).typed("rezzori", speed).enter(speed).sees("Enter has " +
			string(other.Tag) + " wait for a bench")
		require.Equal(t, registry.Logged, s.machine(other.Tag).Stage)
		s.wait(time.Second).press("Enter").sees("is now queued")
	}
}

// The Enter of a sale stands by itself.
func TestEnterThatEndsSomethingSellsNothing(t *testing.T) {
	for _, way := range []struct{ key, says string }{{"s", "sells"}, {"x", "scraps"}, {"p", "strips"}} {
		s := sit(t, "QX")
		m := s.add("Tamarisk", "none", registry.Hand)
		s.scan(string(m.Tag)).press(way.key, "far too worn", "Enter")
		if way.key != "p" {
			s.sees("It brought").press("lots", "Enter").sees("amount").press("Backspace", "Backspace",
				"Backspace", "Backspace", "Enter")
		}
		s.sees("Enter "+way.says+" "+string(m.Tag)+":", "it ")
		for _, word := range []string{"abc", string(m.Tag), "q", "os"} {
			for _, speed := range speeds {
				if f, ok := s.d.top().(*form); !ok || !f.complete {
					s.d.enter("QX")
					s.scan(string(m.Tag)).press(way.key).sees("Enter " + way.says)
				}
				s.wait(time.Second).typed(word, speed).enter(speed).enter(5).wait(time.Second)
				require.Equal(t, registry.Logged, s.machine(m.Tag).Stage, "%s at %d ms", word, speed)
			}
		}
		s.d.enter("QX")
		s.scan(string(m.Tag)).press(way.key).sees("Enter " + way.says).press("Enter")
		require.NotEqual(t, registry.Logged, s.machine(m.Tag).Stage)
	}
}

// workshop is a house with something at every stage, and pages is every page of its desk.
type workshop struct {
	*seat
	heads []*stock.Machine
	base  *stock.Base
	words []string
	list  string // a file of machines that are not here
	twins string // one of machines that are here, and of two that may be one
	graves
}

// graves counts what was done that typing alone must not do.
type graves struct{ last int64 }

func furnish(t *testing.T) *workshop {
	w := &workshop{seat: sit(t, "QX")}
	w.d.Config.Safety.Competent = []string{"QX"}
	w.d.Label = func(registry.Initials, registry.Tag) (string, error) { return "printed", nil }
	w.points("turns,Does it turn?,any,", "tension,Do the discs hold?,any,")
	for i := range 6 {
		w.heads = append(w.heads, w.add("Harrow & Finch", fmt.Sprint("K2041", i), registry.Hand))
	}
	w.heads = append(w.heads, w.add("Ostermann", "B9", registry.Electric))
	for _, m := range w.heads[1:4] {
		w.toCheck(m)
	}
	for _, m := range w.heads[2:4] {
		_, _, err := w.d.Test(w.d.ctx, "TV", m.Tag, bench.TestForm{PassAll: true})
		require.NoError(t, err)
	}
	w.base = &stock.Base{Pattern: "Alder"}
	require.NoError(t, w.d.AddBase(w.d.ctx, "MB", w.base))
	o := &orders.Order{Partner: "Marsh Lane centre", Due: "2032-03-01"}
	require.NoError(t, w.d.OpenOrder(w.d.ctx, "TV", o))
	require.NoError(t,
		w.d.AddLine(w.d.ctx, "TV", &orders.OrderLine{Order: o.Number, Wanted: orders.HandMachine, Asked: 1}))
	require.NoError(t,
		w.d.Reserve(w.d.ctx, "TV", "",
			[]orders.Reservation{{Order: o.Number, Line: 1, Head: *w.machine(w.heads[3].Tag)}}))
	if _, err := w.d.PutKit(w.d.ctx, "TV", w.heads[3].Tag, spares.Leaving{}); err != nil {
		t.Log(err)
	}
	for _, tag := range []registry.Tag{w.heads[0].Tag, w.heads[4].Tag, w.base.Tag} {
		w.words = append(w.words, string(tag), strings.ToLower(string(tag)))
	}
	w.words = append(w.words, "ostermann", "Harrow & Finch", "finch", "harrow", "K20417", "b9", "ka50001",
		"20417", "xs2n", "PM18", "vorwerk", "alder",
		"spurling", "xaver", "prym", "undine", "s", "x", "u", "p", "os", "spxu", "yay", "annick",
		"4006381333931", "ship it")
	w.list = w.listFile("list.csv", "maker,serial,drive\nOstermnn,B77,hand\nOstermann,B78,treadle\n")
	w.twins = w.listFile("twins.csv", "maker,serial,drive,place\nHarrow & Finch,K20410,hand,loft\n"+
		"Ostermann,B78,treadle,\nOstermann,B78,hand,loft\n")
	w.now = w.now.Add(time.Minute)
	return w
}

func (w *workshop) showList(path string) *listIn {
	list := &listIn{path: path}
	require.NoError(w, list.fetch())
	require.NoError(w, list.look(w.d))
	w.d.push(list)
	return list
}

// pages opens each page of the desk.
func (w *workshop) pages() map[string]func() {
	open := func(s screen) func() { return func() { w.d.push(s) } }
	head := func(i int) *stock.Machine { return w.machine(w.heads[i].Tag) }
	pages := map[string]func(){
		"home": func() {}, "find": open(&find{}), "worklist": open(&worklist{}),
		"spares": open(&sparesPage{}), "orders": open(&orderList{}),
		"packing": open(&packingPage{number: "ORD1", partner: "Marsh Lane centre"}), "how to": open(&howTo{}),
		"places":  open(newPlaces()),
		"history": open(&history{tag: w.heads[0].Tag}), "details": open(machineSheet(w.heads[0].Tag)),
		"base": open(&base{tag: w.base.Tag}),
		"label of a head": open(&logged{tag: w.heads[0].Tag, m: w.heads[0],
			next: func(d *Desk) { d.push(newLog(d)) }}),
		"label of a base": open(&logged{tag: w.base.Tag, next: addBase}),
		"undo mine":       func() { undoMine(w.d) },
		"undo":            func() { undoOn(w.d, w.heads[0].Tag, nil) },
		"ship":            func() { (&packingPage{number: "ORD1"}).ship(w.d) },
		"correct":         func() { w.d.push(newAmend(head(0))) }, "log": func() { w.d.push(newLog(w.d)) },
		"van-load": func() {
			w.d.van = &vanLoad{donor: "Tern House", tags: []registry.Tag{w.heads[0].Tag}}
			w.d.push(&vanEnd{})
		},
		"log a base": func() { addBase(w.d) },
		"a list":     func() { w.showList(w.list) },
		"rows of one serial": func() {
			list := w.showList(w.twins)
			list.askTwins(w.d)
			list.askColumns(w.d)
			w.d.back()
		},
		"a list's path": func() { importList(w.d) },
		"count":         open(&placePage{place: "bay 1", counting: true, result: &shelf.PlaceCount{}}),
		"move":          open(&placePage{place: "bay 1"}),
		"begun":         open(&resume{draft{Fields: map[string][]string{"maker": {"Ostermann"}}}}),
		"safety":        func() { w.d.push(safetyForm(w.d, head(6))); w.d.top().(*form).answers = answers{} },
		"decide":        open(&find{job: &jobDecide}), "who": open(&who{chosen: true}),
	}
	for i := range w.heads {
		pages[fmt.Sprint("machine ", i)] = open(&machine{tag: w.heads[i].Tag})
	}
	for _, way := range []string{"parts", "sale", "scrap"} {
		pages[way] = func() { triage(way)(w.d, head(4)) }
		pages[way+", asked"] = func() {
			triage(way)(w.d, head(4))
			f := w.d.top().(*form)
			f.answers, f.at, f.complete = answers{"why": "worn"}, len(f.asked), true
		}
	}
	pages["test"] = func() {
		tested := &test{}
		if m := head(1); tested.start(w.d, m) == nil {
			w.d.push(tested)
		}
	}
	return pages
}

// machineGone says that the logging of something was undone.
func (w *workshop) machineGone() bool {
	for _, h := range w.heads {
		if _, err := w.d.Machine(w.d.ctx, h.Tag); err != nil {
			return true
		}
	}
	_, err := w.d.Base(w.d.ctx, w.base.Tag)
	return err != nil
}

// grave says what was done since the last look that typing alone must not do.
func (w *workshop) grave() (did []string) {
	if w.machineGone() {
		return []string{"undo"}
	}
	require.NoError(w, w.d.Store.View(w.d.ctx, func(r stock.Reader) error {
		last, err := r.LastAction("", "")
		if err != nil || last == nil || last.ID == w.last {
			return err
		}
		w.last = last.ID
		for _, verb := range []string{"sale", "scrap", "parts", "ship", "undo", "import"} {
			if strings.Contains(last.Verb, verb) {
				did = append(did, last.Verb)
			}
		}
		return nil
	}))
	for _, h := range w.heads {
		switch m := w.machine(h.Tag); m.Stage {
		case registry.Sold, registry.Scrapped, registry.Parts, registry.Shipped:
			did = append(did, string(m.Tag)+" "+string(m.Stage))
		}
	}
	if b, err := w.d.Base(w.d.ctx, w.base.Tag); err == nil && !b.Here() {
		did = append(did, string(b.Tag)+" "+string(b.Stage))
	}
	return did
}

// Whatever is typed, at whatever speed and on whatever page: nothing is sold, scrapped, stripped, shipped or
// undone, since each of these asks for an Enter of its own, and every Enter here ends a word.
func TestTypingHurtsNothing(t *testing.T) {
	rounds := 5
	if os.Getenv("NIGHTLY") == "" {
		rounds = 2
	}
	w := furnish(t)
	dice := rand.New(rand.NewPCG(17, 5))
	gap := func(steady int) time.Duration {
		if steady > 0 {
			return time.Duration(steady) * time.Millisecond
		}
		return time.Duration(5+dice.IntN(396)) * time.Millisecond
	}
	require.Empty(t, w.grave())
	for name, open := range w.pages() {
		for range rounds {
			w.d.enter("QX")
			open()
			var did []string
			for range 4 {
				word, steady := w.words[dice.IntN(len(w.words))], 0
				if dice.IntN(2) == 0 {
					steady = speeds[dice.IntN(len(speeds))]
				}
				did = append(did, fmt.Sprintf("%q (%d ms)", word, steady))
				w.wait(time.Duration(dice.IntN(1500)) * time.Millisecond)
				for _, r := range word {
					w.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone), gap(steady))
				}
				switch end := dice.IntN(8); {
				case end < 5:
					w.key(tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone), gap(steady))
				case end < 6:
					w.key(tcell.NewEventKey(tcell.KeyLF, 0, tcell.ModNone), gap(steady))
				case end < 7:
					w.key(tcell.NewEventKey(tcell.KeyTab, 0, tcell.ModNone), gap(steady))
				}
				w.lines()
				require.Empty(t, w.grave(), "on the page %s, by typing %s", name, did)
				w.d.quit = false
			}
		}
	}
}

// With every other key thrown in, what cannot be taken back happens only at an Enter by itself, on a page
// that says so.
func TestGraveThingsHappenOnAPageThatSaysSo(t *testing.T) {
	rounds, happened := 8, 0
	if os.Getenv("NIGHTLY") != "" {
		rounds = 60
	}
	dice := rand.New(rand.NewPCG(4, 17))
	for range rounds {
		w := furnish(t)
		w.grave()
	pages:
		for name, open := range w.pages() {
			if dice.IntN(4) > 0 {
				continue
			}
			w.d.enter("QX")
			open()
			for range 12 {
				page, alone := "", false
				switch dice.IntN(6) {
				case 0, 1:
					w.typed(w.words[dice.IntN(len(w.words))], 5+dice.IntN(396))
				case 2:
					w.typed("spxu"[dice.IntN(4):][:1], 500).wait(time.Second)
				case 3:
					w.press("Down")
				default:
					alone = true
					page = w.wait(time.Second).page()
					w.press("Enter")
				}
				if did := w.grave(); len(did) > 0 {
					happened++
					require.True(t, alone, "%s on %s without its Enter", did, name)
					require.Regexp(t, `Enter (sells|scraps|strips|ships|undoes|imports)`, page, "%s on %s",
						did, name)
					break pages // this house has lost something: another is furnished
				}
			}
		}
	}
	require.NotZero(t, happened, "nothing was ever sold: the test tries too little")
}
