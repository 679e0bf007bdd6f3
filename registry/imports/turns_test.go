package imports_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/forget"
	"pitman/registry/house"
	"pitman/registry/imports"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// takeLong takes a list in as one that is long: in turns of some rows, or at once where rows is 0. after is
// called in each turn but the last, when its rows are put.
func takeLong(ctx context.Context, w *house.Workshop, text string, rows int, after func()) (*imports.Result,
	error) {
	if after != nil {
		own := w.Store
		w.Store = between{own, after}
		defer func() { w.Store = own }()
	}
	return registrytest.TakeInTurns(ctx, w, "list.csv", strings.NewReader(text),
		imports.Turns{Rows: max(rows, 1)}, 1+rows)
}

// between calls after in each turn.
type between struct {
	stock.Store
	after func()
}

func (b between) InTurns(ctx context.Context, a *registry.Action, fn func(stock.Tx) (bool, error)) error {
	return b.Store.InTurns(ctx, a, func(tx stock.Tx) (bool, error) {
		ended, err := fn(tx)
		if !ended {
			b.after()
		}
		return ended, err
	})
}

// anyList is a list in which machines repeat, have ids, stand somewhere already and were tested.
func anyList(dice *rand.Rand) string {
	var text strings.Builder
	text.WriteString("id,maker,serial,drive,place,stage,received,tested,tester\n")
	for i := range 60 {
		id, told := "", ",,,"
		if dice.IntN(5) < 2 {
			id = fmt.Sprint("ID", i)
		}
		serial := 1000 + dice.IntN(40)*(1+len(id)*i)
		switch serial % 3 { // rows of one machine say the same of it
		case 0:
			told = "ready,2031-01-02,2031-02-03,RS"
		case 1:
			told = "check,2031-01-02,,"
		}
		fmt.Fprintf(&text, "%s,Harrow & Finch,%d,hand,bay 1,%s\n", id, serial, told)
	}
	return text.String()
}

// In turns a list brings what it brings at once: the same machines with the same tags and tests, and the same
// is said of each row.
func TestTurnsBringTheSame(t *testing.T) {
	taken := 0
	for seed := range uint64(5) {
		list := anyList(rand.New(rand.NewPCG(seed, 3)))
		var said, there [2]string
		for i, rows := range []int{0, 1 + int(seed)} {
			w := registrytest.InLetters(t, "PM")
			registrytest.Logged(t, w, "Harrow & Finch", "1007") // is one of the rows, perhaps
			result, err := takeLong(ctx, w, list, rows, nil)
			for _, f := range result.Faults {
				said[i] += f.Message + "\n"
			}
			for _, o := range result.Rows {
				if err == nil {
					said[i] += fmt.Sprintln(o.Row, o, o.Remark, o.AsRow, o.Year)
				}
			}
			taken += result.New
			require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
				return r.Machines(stock.MachineFilter{}, func(m *stock.Machine) error {
					there[i] += fmt.Sprintln(m.Tag, m.Serial, m.Stage, m.TestedBy)
					return nil
				})
			}))
			registrytest.VerifiesClean(t, w)
		}
		assert.Equal(t, said[0], said[1], seed)
		assert.Equal(t, there[0], there[1], seed)
	}
	assert.NotZero(t, taken)
}

// Who works beside a list that comes in meets nothing of it before all is there; what they logged meanwhile
// is not there twice, and undoing the list takes all of it away.
func TestOthersWorkBesideAListInTurns(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	other := house.NewWorkshop(w.Store, w.Config, w.Lists, w.Intake.Tables, w.Now)
	var text strings.Builder
	text.WriteString("maker,serial,drive\n")
	const rows = 120
	for i := range rows {
		fmt.Fprintf(&text, "Arden,%d,hand\n", i)
	}
	logged, counts, undone := make(chan error, 1), 0, error(nil)
	var forgotten, failed error
	var history []registry.Event
	begun := false
	result, err := takeLong(ctx, w, text.String(), 2, func() {
		if begun {
			return
		}
		begun = true
		go func() {
			// the first row has come in, and the last one comes long after
			for _, serial := range []string{"0", fmt.Sprint(rows - 1), "7000"} {
				m := &stock.Machine{Maker: "Arden", Serial: serial, Drive: registry.Hand}
				if err := other.Log(ctx, "MB", m, true); err != nil {
					logged <- err
					return
				}
			}
			counts = registrytest.Count(t, other.Store)
			_, forgotten = other.Forget(ctx, "MB", forget.Who{Name: "Arden"}, true)
			history, failed = historyOf(other, registry.NewTag("PM", 1))
			_, undone = other.Undo(ctx, "QX")
			_, err := other.Undo(ctx, "MB") // takes 7000 back
			logged <- err
		}()
	})
	require.NoError(t, err)
	require.NoError(t, <-logged)
	assert.Equal(t, 3, counts, "what has come in in part is met by nobody")
	assert.ErrorContains(t, undone, "import of list.csv is still coming in")
	assert.ErrorContains(t, forgotten, "import of list.csv by QX is still coming in")
	assert.NoError(t, failed)
	assert.Empty(t, history, "nor is it told what happened to it")
	assert.Equal(t, rows-2, result.New)
	assert.Equal(t, 2, result.Same)
	assert.Equal(t, "logged while the file came in", result.Rows[0].Remark)
	assert.Equal(t, rows, registrytest.Count(t, w.Store))
	tags := map[registry.Tag]bool{}
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		for _, o := range result.Rows {
			m, err := stock.MachineByTag(r, o.Tag)
			if err != nil {
				return err
			}
			assert.Equal(t, o.Serial, m.Serial)
			tags[o.Tag] = true
		}
		return nil
	}))
	assert.Len(t, tags, rows)
	registrytest.VerifiesClean(t, w)

	_, err = w.Undo(ctx, "QX")
	require.NoError(t, err)
	assert.Equal(t, 2, registrytest.Count(t, w.Store), "what others logged stays")
	registrytest.VerifiesClean(t, w)
}

// Whoever logs beside a long list is refused by nothing, and waits for a turn of it or for its end, not for
// all of it. The ratio is told.
func TestWaitsBesideALongList(t *testing.T) {
	rows, turns := 4000, imports.Turns{Above: 1, Rows: 100}
	if os.Getenv("NIGHTLY") != "" {
		rows, turns = 500_000, imports.Turns{}
	}
	w := registrytest.InLetters(t, "PM")
	other := house.NewWorkshop(w.Store, w.Config, w.Lists, w.Intake.Tables, w.Now)
	var text strings.Builder
	text.WriteString("maker,serial,drive\n")
	for i := range rows {
		fmt.Fprintf(&text, "Arden,%d,hand\n", i)
	}
	var waited []time.Duration
	through := make(chan struct{})
	var logging sync.WaitGroup
	logging.Go(func() {
		for n := 0; ; n++ {
			select {
			case <-through:
				return
			case <-time.After(10 * time.Millisecond):
			}
			since := time.Now()
			m := &stock.Machine{Maker: "Ostermann", Serial: fmt.Sprint(n), Drive: registry.Hand}
			if !assert.NoError(t, other.Log(ctx, "MB", m, true)) {
				return
			}
			waited = append(waited, time.Since(since))
		}
	})
	since := time.Now()
	_, err := registrytest.TakeInTurns(ctx, w, "list.csv", strings.NewReader(text.String()), turns, rows+1)
	took := time.Since(since)
	close(through)
	logging.Wait()
	require.NoError(t, err)
	require.NotEmpty(t, waited)
	slices.Sort(waited)
	t.Logf("%d logged beside %d rows: of the import's time, one in two waited less than 1/%.0f, the worst 1/%.0f",
		len(waited), rows, float64(took)/float64(waited[len(waited)/2]),
		float64(took)/float64(waited[len(waited)-1]))
	assert.Less(t, waited[len(waited)-1], took/2)
	registrytest.VerifiesClean(t, w)
}

func historyOf(w *house.Workshop, tag registry.Tag) (events []registry.Event, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if events, err = r.History(string(tag)); err != nil {
			return err
		}
		return r.Changes(string(tag), func(a *registry.Action, _ *registry.Change) error {
			events = append(events, registry.Event{Action: a.Verb})
			return nil
		})
	})
	return events, err
}

// A long list that is broken off, or meets what was not there when it was looked through, leaves nothing.
func TestAListInTurnsThatEndsEarlyLeavesNothing(t *testing.T) {
	text := "maker,serial,drive,arrived-with\n"
	for i := range 20 {
		text += fmt.Sprintf("Arden,%d,hand,\n", i)
	}
	for name, c := range map[string]struct {
		beside  func(w *house.Workshop, base registry.Tag, stop context.CancelFunc) error
		refused string
	}{
		"broken off": {func(_ *house.Workshop, _ registry.Tag, stop context.CancelFunc) error { stop(); return nil },
			"canceled"},
		"what a row names is gone meanwhile": {func(w *house.Workshop, base registry.Tag, _ context.CancelFunc) error {
			_, err := w.UndoOn(ctx, "QX", base)
			return err
		}, "faults"},
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.InLetters(t, "PM")
			base := registrytest.PutBase(t, w, func(*stock.Base) {})
			list := text + fmt.Sprintf("Arden,77,hand,%s\n", base)
			other := house.NewWorkshop(w.Store, w.Config, w.Lists, w.Intake.Tables, w.Now)
			stopped, stop := context.WithCancel(ctx)
			defer stop()
			done := make(chan error, 1)
			begun := false
			_, err := takeLong(stopped, w, list, 1, func() {
				if !begun {
					begun = true
					go func() { done <- c.beside(other, base, stop) }()
				}
			})
			require.ErrorContains(t, err, c.refused)
			require.True(t, begun)
			require.NoError(t, <-done)
			assert.Zero(t, registrytest.Count(t, w.Store))
			registrytest.VerifiesClean(t, w)
			_, err = takeLong(ctx, w, text, 1, nil)
			require.NoError(t, err, "nothing stands in the way of the next")
			registrytest.VerifiesClean(t, w)
		})
	}
}

// A tag is never given again, so a list that brings tags could not come in a second time once a part of it
// was taken back: it comes in at once, however long.
func TestAListThatBringsTagsComesInAtOnce(t *testing.T) {
	text := "tag,maker,serial,drive\n"
	for i := range int64(20) {
		text += fmt.Sprintf("%s,Arden,%d,hand\n", registry.NewTag("EZ", 1+i), i)
	}
	w := registrytest.InLetters(t, "PM")
	stopped, stop := context.WithCancel(ctx)
	defer stop()
	_, err := takeLong(stopped, w, text, 1, stop)
	assert.NoError(t, err, "between two turns it would have been broken off")
	again, err := takeLong(ctx, w, text, 1, nil)
	require.NoError(t, err, again.Faults)
	assert.Equal(t, 20, registrytest.Count(t, w.Store))
}

// Where not even taking back can be written, as on a full disk, the next list does it first: nobody has to
// start the program anew. What went wrong is told once.
func TestTheNextListTakesBackWhatCouldNotBe(t *testing.T) {
	w, _, path := registrytest.Open(t)
	text := "maker,serial,drive\n"
	for i := range 20 {
		text += fmt.Sprintf("Arden,%d,hand\n", i)
	}
	raw := registrytest.Raw(t, path)
	_, err := raw.Exec(`CREATE TRIGGER full BEFORE INSERT ON change WHEN (SELECT count(*) FROM change) > 9
		BEGIN SELECT RAISE (ABORT, 'no room'); END`)
	require.NoError(t, err)
	_, err = takeLong(ctx, w, text, 1, nil)
	require.Error(t, err)
	assert.Equal(t, 1, strings.Count(err.Error(), "no room"), err)
	var there int
	require.NoError(t, raw.QueryRow("SELECT count(*) FROM machine").Scan(&there))
	assert.NotZero(t, there)
	_, err = takeLong(ctx, w, text, 1, nil)
	assert.ErrorContains(t, err, "import of list.csv by QX broke off and cannot be taken back")
	_, err = raw.Exec("DROP TRIGGER full")
	require.NoError(t, err)
	_, err = takeLong(ctx, w, text, 1, nil)
	require.NoError(t, err)
	assert.Equal(t, 20, registrytest.Count(t, w.Store))
	registrytest.VerifiesClean(t, w)
}

// rewritten is a file that somebody writes anew after it was read once.
type rewritten struct {
	*strings.Reader
	text string
}

func (f rewritten) Seek(int64, int) (int64, error) {
	f.Reset(f.text)
	return 0, nil
}

// A list that is another when it is read the second time leaves nothing: what was looked through is not what
// would come in.
func TestAListThatIsWrittenToMeanwhileLeavesNothing(t *testing.T) {
	text := "maker,serial,drive\n" + strings.Repeat("Arden,,hand\n", 20)
	for name, later := range map[string]string{
		"shorter":       strings.TrimSuffix(text, "Arden,,hand\n"),
		"longer":        text + "Arden,,hand\n",
		"other columns": strings.Replace(text, "maker,serial", "serial,maker", 1),
	} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.InLetters(t, "PM")
			file := rewritten{strings.NewReader(text), later}
			_, err := registrytest.TakeInTurns(ctx, w, "list.csv", file, imports.Turns{Above: 1, Rows: 3}, 20)
			assert.ErrorContains(t, err, "somebody wrote to the file")
			assert.Zero(t, registrytest.Count(t, w.Store))
			registrytest.VerifiesClean(t, w)
		})
	}
	w := registrytest.InLetters(t, "PM")
	_, err := registrytest.TakeInTurns(ctx, w, "list.csv", rewritten{strings.NewReader(text), text},
		imports.Turns{Above: 1, Rows: 3}, 20)
	assert.NoError(t, err)
}
