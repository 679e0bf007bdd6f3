package desk

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

func TestBaseThroughItsStages(t *testing.T) {
	s := sit(t, "QX")
	head := s.add("Harrow & Finch", "K7", registry.Treadle)
	s.press("c").sees("Log a treadle base", "lift it with two").press("Alder", "Enter", "n", "rusty",
		"Enter").sees("Came with head")
	s.scan(string(head.Tag)).sees("Given by").press("the laundry", "Enter", "bay 2",
		"Enter").sees("logs it").press("Enter")
	tag := registry.NewTag("PM", 2)
	s.sees("Write this on the tie-on label", string(tag)+"   Alder").press("o").
		sees(string(tag)+"   Alder (treadle base)", "at bay 2", "opening not measured")
	b, err := s.d.Base(context.Background(), tag)
	require.NoError(t, err)
	require.Equal(t, head.Tag, b.ArrivedWith)
	s.press("r").sees(string(tag) + " lacks ")
	s.press("o").sees("Enter change that line").press("Enter", "14 1/2 x 7 in",
		"Enter").sees("opening is written")
	for range 8 {
		s.press("Down")
	}
	s.press("Enter").sees("parts present").press("all", "Enter").sees("parts is written").press("Esc")
	s.press("r").sees(string(tag)+" is now ready").press("h", "promised to a show",
		"Enter").sees("held: promised to a show").
		press("g").sees("is now ready")
	s.press("m", "bay 5", "Enter").sees("at bay 5").press("u").press("Enter").sees("at bay 2")
	// Scans go from heads to bases and back; Esc ends at home.
	s.scan(string(head.Tag)).sees(string(head.Tag) +
		"   Harrow").scan(string(tag)).sees("(treadle base)").press("Esc").
		sees("What would you like to do?")
}

func TestMoveAndCountByScanning(t *testing.T) {
	s := sit(t, "QX")
	a, b, c := s.add("Harrow & Finch", "K7", registry.Hand), s.add("Ostermann", "B9", registry.Treadle),
		s.add("Ostermann", "B10", registry.Hand)
	s.press("p", "m", "bay 1",
		"Enter").sees("Move to bay 1").scan(string(a.Tag)).scan(string(b.Tag)).scan(string(b.Tag)).
		sees("scanned already", "2 scanned")
	// A scan that went wrong leaves the line empty for the next one.
	s.scan("PM17").sees("was mistyped", "     Tag\n").scan(string(a.Tag)).sees("scanned already")
	// Esc keeps what was scanned; a tag can be typed, too.
	s.press("Esc", "m").sees("Move things to which place?").press("bay 1", "Enter").sees("2 scanned: "+
		string(a.Tag)).
		press(string(c.Tag), "Enter").sees("3 scanned")
	s.press("Enter").sees("3 moved to bay 1")
	require.Equal(t, "bay 1", s.machine(c.Tag).Place)
	s.press("c", "bay 2", "Enter").scan(string(a.Tag)).press("Enter").
		sees("Here, but the records say elsewhere: 1", string(a.Tag),
			"bay 1").press("c").sees("1 stand at bay 2 now")
	s.press("c", "bay 1",
		"Enter").scan(string(b.Tag)).scan(string(registry.NewTag("PM",
		77))).sees("is not in this house").press("Enter")
	s.sees("There, as the records say: 1",
		"Missing: the records say it is here: 1").press("Backspace").sees("1 scanned").
		press("Enter", "c").sees("1 have no place")
	require.Empty(t, s.machine(c.Tag).Place)
}

func TestLabelOfABase(t *testing.T) {
	s := sit(t, "QX")
	var printed registry.Tag
	s.d.Label = func(_ registry.Initials, tag registry.Tag) (string, error) {
		printed = tag
		return "It is printed.", nil
	}
	s.press("c", "Alder", "Enter", "y", "Enter", "Enter", "Enter", "Enter",
		"Enter").sees("Write this on the tie-on label").press("a").sees("It is printed.")
	require.NotEmpty(t, printed)
	tag := printed
	printed = ""
	s.press("o").sees("(treadle base)", "a   label: print it").press("a").sees("It is printed.")
	require.Equal(t, tag, printed)
}

func TestASheetOfNothing(t *testing.T) {
	s := sit(t, "QX")
	s.d.push(machineSheet("PM99X"))
	s.sees("is not in this house").press("Down", "Enter", "Up").sees("details and measures")
}

func TestMeasuresOfAHead(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B9", registry.Electric)
	s.scan(string(m.Tag)).press("o").sees("details and measures", registry.DoNotPlugIn, "Ostermann")
	at := slices.IndexFunc(stock.MachineFields, func(f stock.Field) bool { return f.Name == "pins" })
	for range at {
		s.press("Down")
	}
	s.press("Enter", "9 1/2 in", "Enter").sees("pins is written", "241.3").press("Enter").press("x",
		"Esc").sees("241.3").press("Esc", "Esc")
	require.InDelta(t, 241.3, s.machine(m.Tag).Pins.MM(), 0.001)
}

// A full shelf has more to tell than the screen holds.
func TestALongCountIsRead(t *testing.T) {
	s := sit(t, "QX")
	var tags []registry.Tag
	for range 20 {
		tags = append(tags, s.add("Tamarisk", "none", registry.Hand).Tag)
	}
	_, err := s.d.Move(s.d.ctx, "MB", tags, "bay 1")
	require.NoError(t, err)
	s.press("p", "c", "bay 1", "Enter", "Enter").sees("Missing: the records say it is here: 20",
		string(tags[0]), "more..")
	for range 30 {
		s.press("Down")
	}
	s.sees(string(tags[19]), "what is missing has no place then").misses("more..")
	s.press("Esc").sees("Places")
}

// Whoever looks at what left its order sees that its other half is still in a crate.
func TestTheCrateToOpenIsOnThePage(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Arden", "1", registry.Treadle)
	b := &stock.Base{}
	require.NoError(t, s.d.AddBase(s.d.ctx, "QX", b))
	o := &orders.Order{Partner: "Marsh Lane centre", Due: "2032-03-01"}
	require.NoError(t, s.d.OpenOrder(s.d.ctx, "QX", o))
	require.NoError(t, s.d.AddLine(s.d.ctx, "QX",
		&orders.OrderLine{Order: o.Number, Wanted: orders.TreadleSet, Asked: 1}))
	for i, tag := range []registry.Tag{m.Tag, b.Tag} {
		since := []time.Time{m.StageSince, b.Since}[i]
		crate := string([]registry.Tag{b.Tag, m.Tag}[i]) + " was packed, so take it out of its crate"
		require.NoError(t, s.d.Store.Update(s.d.ctx, &registry.Action{At: s.d.Now(), By: "QX", Verb: "hold"},
			func(tx stock.Tx) error {
				return tx.Put(&promise.OrderSet{Order: o.Number, Line: 1, Head: m.Tag, Base: b.Tag,
					At: since, OutAt: since,
					OutWhy: string(tag) + ": held: cracked; " + crate})
			}))
		s.scan(string(tag)).sees(crate).press("Esc")
	}
}
