package desk

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/stock"
)

// The aim of the house: at most twenty keys beside what is typed for maker, serial and drive.
func TestLogTakesFewKeys(t *testing.T) {
	s := sit(t, "QX")
	s.press("l").sees("Log a machine")
	s.press("har", "Enter").sees("Harrow & Finch", "Serial")
	s.press("K20417", "Enter").sees("1896 · table row K18001–K41000", "Press a letter")
	s.press("t").sees("Enter logs it").press("Enter")
	s.sees("Write this on the tie-on label", "PM16", "1 done today")
	typed := len("har") + len("K20417") + len("t")
	require.LessOrEqual(t, s.keys-typed, 20)
	m := s.machine("PM16")
	require.Equal(t, "Harrow & Finch", m.Maker)
	require.Equal(t, registry.Treadle, m.Drive)
	require.Equal(t, 1896, *m.Best)
}

func TestOneDonorServesTheLoad(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter", "K20417", "Enter", "h", "g", "Tolvane hall", "Enter", "p", "bay 1", "Enter",
		"Enter")
	s.press("Enter").sees("Given by       Tolvane hall", "same as last", "bay 1")
	s.press("=").sees("Maker          Harrow & Finch") // same as last by one key
	s.press("K20418", "Enter", "=").sees("Drive          hand").press("Enter")
	m := s.machine(registry.NewTag("PM", 2))
	require.Equal(t, "Tolvane hall", m.Donor)
	require.Equal(t, "bay 1", m.Place)
	// The next load.
	s.press("Enter", "ost", "Enter", "B7", "Enter", "h", "g").press("Backspace").sees("Tolvane hal")
	for range len("Tolvane hal") {
		s.press("Backspace")
	}
	s.press("the laundry", "Enter", "Enter", "Enter").sees("Given by       the laundry")
}

func TestKnownNamesByTheirFirstLetters(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "fin").sees("▸ Finkle & Lyon", "Harrow & Finch", "just as typed: fin")
	s.press("Down", "Enter").sees("Maker          Harrow & Finch")
	s = sit(t, "QX")
	s.press("l", "ost", "Up", "Enter").sees("Maker          ost\n") // a maker of that name, after all
	// a slip: Enter takes the maker that is meant, Up and Enter what was typed
	s = sit(t, "QX")
	s.press("l", "Harow and Finch", "Enter").sees("is it Harrow & Finch?", "▸ Harrow & Finch",
		"just as typed: Harow and Finch").press("Enter").sees("Maker          Harrow & Finch\n")
	s = sit(t, "QX")
	s.press("l", "Harow and Finch", "Enter", "Up", "Enter").sees("Maker          Harow and Finch\n")
	s = sit(t, "QX")
	s.press("l", "HARROW AND FINCH", "Enter").sees("Maker          Harrow & Finch\n")
	// The model: first the one of the table row that has this number.
	s.press("KA12", "Enter", "t", "o").sees("Heron").press("h", "Enter").sees("Model          Heron")
}

func TestAskAgainWithTheReason(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "Enter").sees("Type unknown")
	s.press("ost", "Enter", "Enter").sees("Type ? for each character")
	s.press("B?99", "Enter").sees("1908", "h hand")
	s.press("x").sees(`"x" does nothing here`).press("h")
	s.press("y", "18", "Enter").sees(`patent-date "18" is not a year`).press("90",
		"Enter").sees("Patent year    1890")
	s.press("b", "1234", "Enter").sees("Patent number  1234")
	s.press("s").press("Backspace", "Backspace", "Backspace", "Backspace", "none",
		"Enter").sees("Serial         none")
}

func TestTwin(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.press("l", "har", "Enter", "k-7", "Enter", "h").sees("in the house already, as "+string(m.Tag),
		"u it is another one")
	s.press("Enter").sees("Is it another machine than " + string(m.Tag))
	s.press("v").sees(string(m.Tag)+"   Harrow & Finch", "logged 2031-05-04 by MB")
	s.press("Esc").sees("u it is another one").press("u", "Enter").sees("Write this on the tie-on label")
}

func TestAnotherTwinIsAskedAbout(t *testing.T) {
	s := sit(t, "QX")
	s.add("Harrow & Finch", "K7", registry.Hand)
	other := s.add("Harrow & Finch", "K8", registry.Hand)
	s.press("l", "har", "Enter", "K7", "Enter", "h", "u").sees("Enter logs it")
	s.press("s", "Backspace", "8", "Enter").sees("in the house already, as " +
		string(other.Tag)).press("Enter").
		sees("Is it another machine than " + string(other.Tag))
}

func TestElectricSaysDoNotPlugIn(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "ost", "Enter", "B8", "Enter", "e").sees(registry.DoNotPlugIn)
	s.press("Enter").sees(registry.DoNotPlugIn, "PM16")
}

func TestDraftSurvives(t *testing.T) {
	s := sit(t, "QX")
	path := filepath.Join(s.dir, "drafts", "QX.json")
	s.press("l", "har", "Enter", "K204")
	require.FileExists(t, path)
	s.wait(pause) // a half-typed field is kept after a moment, too
	s.restart("QX")
	s.sees("You had begun to log a machine", "Maker          Harrow & Finch", "Serial         K204")
	s.press("Enter").sees("Serial         K204").press("17", "Enter", "h", "Enter").sees("PM16")
	require.NoFileExists(t, path)
	require.Equal(t, "K20417", s.machine("PM16").Serial)
	s.restart("QX")
	s.sees("What would you like to do?")
}

func TestNothingIsKeptOfNothing(t *testing.T) {
	s := sit(t, "QX")
	path := filepath.Join(s.dir, "drafts", "QX.json")
	s.press("l", "ha").wait(pause)
	require.FileExists(t, path)
	s.press("Backspace", "Backspace").wait(pause)
	require.NoFileExists(t, path)
	s.press("Esc").misses("Kept for later")
}

// Once what was typed is seen to, the desk sleeps until a key comes, and does not look for more to keep.
func TestADeskAtRestSleeps(t *testing.T) {
	s := sit(t, "QX")
	s.d.Config.Desk.IdleMinutes = 0
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	rests := func() {
		t.Helper()
		s.now = s.now.Add(time.Hour)
		s.d.Tick(s.now)
		require.Zero(t, s.d.Deadline())
	}
	s.scan(string(m.Tag)).press("c", "n", "loose").sees("Correct ")
	rests()
	s.press("Esc", "Esc", "Esc", "l", "h", "Backspace")
	rests()
	require.NoError(t, os.RemoveAll(filepath.Join(s.dir, "drafts")))
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "drafts"), nil, 0o600)) // a full disk would do, too
	s.press("har").wait(pause)
	rests()
}

func TestDraftIsOffered(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter",
		"Esc").sees("Maker          Harrow & Finch").press("Esc").sees("Kept for later: press l",
		"What would you like to do?")
	s.press("l").sees("You had begun to log a machine", "Maker          Harrow & Finch",
		"x       throw it away").press("Enter").
		sees("The number stamped").press("K1", "Enter", "h").press("x").sees("Thrown away")
	require.NoFileExists(t, filepath.Join(s.dir, "drafts", "QX.json"))
	// Each person has their own; a broken file is no draft and harms nobody.
	s.press("l", "ost", "Enter", "Esc", "Esc", "w", "mb", "Enter", "Enter",
		"l").misses("Ostermann\n     Serial").press("Esc")
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "drafts", "QX.json"), []byte("{"), 0o600))
	s.restart("QX")
	s.sees("What would you like to do?")
	info, err := os.Stat(filepath.Join(s.dir, "drafts"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())
}

func TestCorrect(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Harrow & Finch", "K7", registry.Hand)
	s.scan(string(m.Tag)).press("c").sees("Correct "+string(m.Tag), "Serial         K7")
	s.press("s", "Backspace", "20417", "Enter").sees("1896").press("Enter").sees("Corrected", "1896")
	require.Equal(t, "K20417", s.machine(m.Tag).Serial)
	s.press("i").sees("what happened", "QX", "amend").press("Esc")

	// What someone else wrote meanwhile stays.
	s.press("c", "n", "bobbin case is loose", "Enter").sees("Enter keeps the corrections")
	_, err := s.d.Move(s.d.ctx, "MB", []registry.Tag{m.Tag}, "bay 5")
	require.NoError(t, err)
	s.press("Enter").sees("Corrected", "bobbin case is loose")
	require.Equal(t, "bay 5", s.machine(m.Tag).Place)
}

func TestEscGoesBackOneQuestion(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "ost", "Enter", "B12", "Esc").sees("Maker          Ostermann",
		"Serial         B12").press("Enter")
	s.sees("Maker          Ostermann\n", "h hand").press("Esc", "3",
		"Enter").sees("Serial         B123").press("Esc", "Esc").
		sees("Maker          Ostermann")
	s.press("Enter", "h", "p", "bay 7", "Esc").sees("Place          bay 7", "Enter logs it")
}

func TestTwinLoggedMeanwhile(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter", "K9", "Enter", "h").sees("Enter logs it")
	twin := s.add("Harrow & Finch", "K9", registry.Hand)
	s.press("Enter").sees("Is it another machine than "+string(twin.Tag)).press("u",
		"Enter").sees("Write this on the tie-on label", "1 done today")
}

func TestDraftOfANewerPitman(t *testing.T) {
	s := sit(t, "QX")
	require.NoError(t, os.MkdirAll(filepath.Join(s.dir, "drafts"), 0o700))
	draft := `{"fields": {"maker": ["Ostermann"], "colour": ["green"]}, "at": "colour", "typing": "gr"}`
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "drafts", "QX.json"), []byte(draft), 0o600))
	s.restart("QX")
	s.press("Enter").sees("Maker          Ostermann", "The number stamped on the bed")
}

func TestWhatWasJustTypedIsKeptWhenTheDeskIsEnded(t *testing.T) {
	s := sit(t, "QX")
	ctx, stop := context.WithCancel(context.Background())
	s.d.ctx = ctx
	s.press("l", "ha")
	stop()
	require.NoError(t, s.d.loop(s.screen, make(chan tcell.Event)))
	s.restart("QX")
	s.sees("You had begun to log a machine", "Maker          ha")
}

// The tag has to be read before it goes: an Enter that bounces does not take it away.
func TestABouncingEnterLeavesTheTag(t *testing.T) {
	s := sit(t, "QX")
	s.press("l", "har", "Enter", "K9", "Enter", "h")
	for range 5 {
		s.key(tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone), 30*time.Millisecond)
	}
	s.sees("Write this on the tie-on label", "PM16").press("Enter").sees("Log a machine", "PM16 is logged")
}

// A place, donor or model that is almost a known one is asked about once: Enter takes the known one, Up and
// Enter keep what was typed.
func TestNearWordsAreOffered(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B1", registry.Hand)
	_, err := s.d.Move(s.d.ctx, "QX", []registry.Tag{m.Tag}, "under the stairs")
	require.NoError(t, err)
	s.d.message = ""
	log := func(keys ...string) *stock.Machine {
		s.press("Esc", "l", "ost", "Enter", "B7", "Enter", "h", "p", "under", "Enter").
			sees(`place "under" is new here: is it under the stairs?`, "▸ under the stairs",
				"just as typed: under")
		s.press(keys...).press("g", "Tolvane hall", "Enter", "Enter").sees("Write this")
		machines, _ := (&find{}).matching(s.d, "tolvane")
		return &machines[len(machines)-1]
	}
	require.Equal(t, "under the stairs", log("Enter").Place)
	s.d.load = load{}
	s.press("Esc", "l", "ost", "Enter", "B8", "Enter", "h", "g", "Tolvan hall", "Enter").
		sees(`donor "Tolvan hall" is new here: is it Tolvane hall?`).press("Up", "Enter").
		sees("Given by       Tolvan hall").press("x")
	s.scan(string(m.Tag)).press("m", "undr the stairs", "Enter").sees("is it under the stairs?").
		press("Enter").sees("stands at under the stairs")
}

// A tag that was printed ahead is scanned wherever one is, and what is logged next hangs on it: once.
func TestABlankTagIsScannedAndHangsOnWhatIsLogged(t *testing.T) {
	s := sit(t, "QX")
	tags, err := s.d.BlankTags(context.Background(), "QX", 3,
		func(stock.Tx, []registry.Tag) error { return nil })
	require.NoError(t, err)
	s.scan(string(tags[1])).sees("on the blank tag "+string(tags[1]),
		"is blank: it hangs on what you log next")
	s.press("har", "Enter", "K20417", "Enter", "t", "Enter").sees("Logged: its blank tag hangs on it",
		string(tags[1]))
	require.Equal(t, "Harrow & Finch", s.machine(tags[1]).Maker)
	// in the middle of the next one, and again for a base
	s.press("Enter", "har", "Enter").scan(string(tags[0])).sees(string(tags[0]) + " hangs on this one once")
	s.press("K20418", "Enter", "t", "Enter").sees("Logged: its blank tag hangs on it")
	require.Equal(t, "K20418", s.machine(tags[0]).Serial)
	s.press("Esc").scan(string(tags[2])).press("Esc", "c").sees("Log a treadle base")
	s.press("Enter", "y", "Enter", "Enter", "Enter", "Enter",
		"Enter").sees("Logged: its blank tag hangs on it")
	_, err = s.d.Base(context.Background(), tags[2])
	require.NoError(t, err)
	// one that hangs on something opens that
	s.press("Esc").scan(string(tags[1])).sees("Harrow & Finch")
}

// A table that cannot be read is named wherever a year is shown that may stand in it.
func TestATableThatIsNotReadIsToldBesideTheYear(t *testing.T) {
	s := sit(t, "QX")
	const unread = "the table torn.csv is not read"
	s.press("l", "har", "Enter", "K20417", "Enter", "h",
		"Enter").sees("Write this on the tie-on label").misses(unread)
	s.press("o").sees("1896").misses(unread)
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "tables", "torn.csv"), []byte("maker,x\nTorn,1\n"),
		0o600))
	s.restart("QX")
	s.press("l", "torn", "Enter", "1", "Enter", "h", "Enter").sees("Write this on the tie-on label", unread)
	s.press("o").sees("serial 1", unread)
	s.press("Esc", "Esc", "c", "Enter", "y", "Enter", "Enter", "Enter", "Enter",
		"Enter").sees("Write this on the tie-on label")
	s.misses(unread) // a base has no year
}
