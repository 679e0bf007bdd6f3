package exchange_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/measure"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

var ctx = registrytest.Ctx

// contextAfter is a context that ends when it was asked so many times, as if somebody had pressed Ctrl-C
// then.
func contextAfter(asked int64) (context.Context, context.CancelFunc) {
	inner, stop := context.WithCancel(ctx)
	return &stopping{Context: inner, stop: stop, left: asked}, stop
}

type stopping struct {
	context.Context
	stop context.CancelFunc
	left int64
}

func (s *stopping) Err() error {
	if atomic.AddInt64(&s.left, -1) < 0 {
		s.stop()
	}
	return s.Context.Err()
}

func bundle(t testing.TB, w *house.Workshop, to string) []byte {
	t.Helper()
	var out bytes.Buffer
	b, err := exchange.NewBundle(&out,
		exchange.Head{House: "Lantern Row", Letters: w.Config.House.Letters, To: to, At: w.Now()})
	require.NoError(t, err)
	_, err = w.HandOver(ctx, "QX", exchange.HandOverOptions{To: to}, b.Add)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	return out.Bytes()
}

func receive(w *house.Workshop, file []byte) ([]exchange.Arrival, error) {
	b, err := exchange.ReadBundle(bytes.NewReader(file))
	if err != nil {
		return nil, err
	}
	return w.TakeOver(ctx, "EZ", exchange.Receiving{From: b.Head.Letters, Name: "test.bundle"}, b.Next)
}

func history(t *testing.T, w *house.Workshop, tag registry.Tag) (events []string) {
	t.Helper()
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
		return r.Changes(string(tag), func(a *registry.Action, c *registry.Change) error {
			events = append(events, fmt.Sprint(a.At, a.By, a.Verb, a.Why, c.Kind, c.Fields))
			return nil
		})
	}))
	return events
}

// Whatever happened to machines in one house is what the other house has of them, and the way back is a
// continuation.
func TestAHouseOnAStick(t *testing.T) {
	dice := rand.New(rand.NewPCG(9, 4))
	w := registrytest.InLetters(t, "LR")
	var tags []registry.Tag
	for i := range 30 {
		m := anyMachine(dice, i)
		require.NoError(t, w.Log(ctx, "QX", m, true))
		tags = append(tags, m.Tag)
	}
	for i := range 60 {
		_, err := w.Amend(ctx, "MB", tags[dice.IntN(len(tags))], "", func(m *stock.Machine) error {
			m.Note = fmt.Sprint("note ", i)
			return nil
		})
		require.NoError(t, err)
	}
	file := bundle(t, w, "Eldwray")
	other := registrytest.InLetters(t, "EL")
	b, err := exchange.ReadBundle(bytes.NewReader(file))
	require.NoError(t, err)
	arrived, err := other.TakeOver(ctx, "EZ",
		exchange.Receiving{From: "LR", Name: "test.bundle", Again: true}, b.Next)
	require.NoError(t, err)
	require.Len(t, arrived, 30)
	for _, tag := range tags {
		ours, theirs := history(t, w, tag), history(t, other, tag)
		require.Equal(t, ours, theirs[:len(ours)])
		require.Len(t, theirs, len(ours)+1, "that it came in stands behind")
		a, err := w.Machine(ctx, tag)
		require.NoError(t, err)
		b, err := other.Machine(ctx, tag)
		require.NoError(t, err)
		b.ID, b.HandedTo = a.ID, a.HandedTo
		require.Equal(t, a, b)
	}
	arrived, err = receive(w, bundle(t, other, "Lantern Row"))
	require.NoError(t, err)
	for _, one := range arrived {
		assert.Equal(t, exchange.ArrivalContinued, one.Does)
		assert.Equal(t, history(t, other, one.Tag), history(t, w, one.Tag)[:len(history(t, other, one.Tag))])
	}
}

func zipped(lines ...string) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	for _, l := range lines {
		io.WriteString(z, l+"\n")
	}
	z.Close()
	return out.Bytes()
}

func unzip(t testing.TB, file []byte) []string {
	z, err := gzip.NewReader(bytes.NewReader(file))
	require.NoError(t, err)
	text, err := io.ReadAll(z)
	require.NoError(t, err)
	return strings.Split(strings.TrimSpace(string(text)), "\n")
}

// A file that was damaged or made with bad intent changes nothing and is refused in one sentence.
func TestHostileBundles(t *testing.T) {
	w := registrytest.InLetters(t, "LR")
	require.NoError(t,
		w.Log(ctx, "QX", &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Hand}, false))
	file := bundle(t, w, "Eldwray")
	good := unzip(t, file)
	with := func(old, new string) []byte {
		text := strings.Replace(strings.Join(good, "\n"), old, new, 1)
		require.NotEqual(t, strings.Join(good, "\n"), text, old)
		return resealed(t, strings.Split(text, "\n"))
	}
	head := good[0]
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"nothing": {nil, "no bundle"},
		"no gzip": {[]byte("hello"), "no bundle"},
		"no head": {zipped(good[1:]...), "no bundle"},
		"cut off": {file[:len(file)-20], "the bundle"},
		"a byte changed": {zipped(strings.Replace(strings.Join(good, "\n"), "Ostermann", "Ostermonn", 1)),
			"checksum is wrong"},
		"no end":           {zipped(good[:len(good)-1]...), "ends before its last line"},
		"more behind":      {zipped(append(good, `{"tag":"LR2G"}`)...), "goes on behind"},
		"a bomb":           {zipped(head, strings.Repeat("0", 64<<20)), "line of more than"},
		"a newer version":  {with(`"version":1`, `"version":2`), "version 2"},
		"an unknown field": {with(`"verb"`, `"path"`), "made by a newer version"},
		"an unknown kind":  {with(`"kind":"machine"`, `"kind":"sqlite_schema"`), "kind \"sqlite_schema\""},
		"an unknown column": {with(`"maker":[`, `"id = 1; --":[`),
			"fields of a machine that this program does not know"},
		"a control code":    {with(`"Ostermann"`, `"\u001b[2JOster"`), "control character"},
		"a wrong type":      {with(`[null,"Ostermann"]`, `[null,7]`), "maker 7"},
		"a wrong drive":     {with(`"hand"`, `"steam"`), "cannot be"},
		"a wrong stage":     {with(`"logged"`, `"gone"`), "stage \"gone\""},
		"another's history": {with(`"tag":[null,"LR1I"]`, `"tag":[null,"LR2G"]`), "in the history of LR1I"},
		"a mistyped tag":    {with(`{"tag":"LR1I"}`, `{"tag":"LR1J"}`), "mistyped"},
		"full names":        {with(`"by":"QX"`, `"by":"Quentin Xavier"`), "action by"},
		"an orphan":         {with(`"change":{"action":1`, `"change":{"action":77`), "without the action"},
		"a moment that is none": {with(`"action":{"id":1,"at":"2`, `"action":{"id":1,"at":"9`),
			"action of the year 9"},
		"a PIN": {with(`"kind":"machine","ref":1`, `"kind":"pin","ref":1`), "no machine or base"},
		"a PIN in the history of a machine": {resealed(t, slices.Insert(slices.Clone(good), len(good)-1,
			`{"change":{"action":1,"kind":"pin","ref":1,"fields":{"who":[null,"EL"],"set_by":[null,"EL"],`+
				`"set_at":[null,"2031-05-04T09:30:00.000Z"],"wrong":[null,0],"struck":[null,0]}}}`)),
			"in the history of LR1I"},
		"the history of a PIN": {with(`{"tag":"LR1I"}`, `{"tag":"PIN of EL"}`), "tag"},
		"an order":             {with(`"kind":"machine"`, `"kind":"partner_order"`), "no machine or base"},
		"an impossible year": {with(`"maker":[`, `"year_from":[null,99999],"maker":[`),
			"99999 is no year"},
		"a year before any": {with(`"maker":[`, `"year_best":[null,-5],"maker":[`), "-5 is no year"},
		"a wrong origin":    {with(`"verb":"log"`, `"verb":"log","origin":"../x"`), "done in"},
	} {
		t.Run(name, func(t *testing.T) {
			other := registrytest.InLetters(t, "EL")
			_, err := receive(other, c.file)
			require.ErrorContains(t, err, c.want)
			assert.NotEmpty(t, registry.CodeOf(err), err)
			assert.Less(t, len(err.Error()), 400)
			assert.Empty(t, export(t, other, "history", true))
		})
	}
	_, err := receive(registrytest.InLetters(t, "EL"), with("Ostermann", "Ostermonn"))
	require.NoError(t, err, "resealing makes a bundle that reads")
}

// resealed puts a fitting sum under changed lines.
// sealers are kept, since making one takes longer than all else that a fuzzed bundle needs.
var sealers = sync.Pool{New: func() any { z, _ := gzip.NewWriterLevel(nil, gzip.NoCompression); return z }}

func resealed(t testing.TB, lines []string) []byte {
	t.Helper()
	var out bytes.Buffer
	z := sealers.Get().(*gzip.Writer)
	defer sealers.Put(z)
	z.Reset(&out)
	sum := sha256.New()
	for _, l := range lines[:len(lines)-1] {
		io.WriteString(io.MultiWriter(z, sum), l+"\n")
	}
	fmt.Fprintf(z, "{\"sha256\":\"%x\"}\n", sum.Sum(nil))
	require.NoError(t, z.Close())
	return out.Bytes()
}

// Whatever lines a bundle has, its reader reads them to the end or refuses them in a sentence.
func FuzzReadBundle(f *testing.F) {
	w := registrytest.InLetters(f, "LR")
	require.NoError(f,
		w.Log(ctx, "QX", &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Hand}, false))
	f.Add(strings.Join(unzip(f, bundle(f, w, "Eldwray")), "\n"))
	f.Fuzz(func(t *testing.T, text string) {
		b, err := exchange.ReadBundle(bytes.NewReader(resealed(t, strings.Split(text, "\n"))))
		for c := new(exchange.UnitHistory); err == nil && c != nil; {
			c, err = b.Next()
		}
		require.True(t, err == nil || registry.CodeOf(err) != "", "%v", err)
	})
}

// Whatever a bundle holds, it is taken over or refused in a sentence. It is only rehearsed, so that one house
// serves all; what is accepted is taken in by a house of its own, which verifies.
func FuzzBundle(f *testing.F) {
	giver, w := registrytest.InLetters(f, "LR"), registrytest.InLetters(f, "EL")
	lent := &stock.Machine{Maker: "Tamarisk", Serial: "T2", Drive: registry.Treadle}
	require.NoError(f, w.Log(ctx, "EZ", lent, false))
	_, err := receive(giver, bundle(f, w, "Lantern Row"))
	require.NoError(f, err)
	_, err = giver.Amend(ctx, "QX", lent.Tag, "",
		func(m *stock.Machine) error { m.Note = "oiled"; return nil })
	require.NoError(f, err)
	f.Add(strings.Join(unzip(f, bundle(f, giver, "Eldwray")), "\n")) // one that comes home
	m := &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Hand, Seen: []int{1931}}
	require.NoError(f, giver.Log(ctx, "QX", m, false))
	require.NoError(f, giver.Log(ctx, "QX",
		&stock.Machine{Maker: "Arden", Serial: "E9", Drive: registry.Electric, Donor: "Ines Vale"}, false))
	require.NoError(f, giver.AddBase(ctx, "QX", &stock.Base{Place: "bay 2", Pins: 241 * measure.Millimetre}))
	_, err = giver.Triage(ctx, "QX", m.Tag, "refurbish", "turns freely", "")
	require.NoError(f, err)
	good := strings.Join(unzip(f, bundle(f, giver, "Eldwray")), "\n")
	f.Add(good)
	for old, new := range map[string]string{"hand": "steam", `"logged"`: `"ready"`, `"by":"QX"`: `"by":"EZ"`,
		`"verb":"log"`: `"verb":"undo","undoes":1`, `"origin":"`: `"origin":"EL/1`, "LR": "EL"} {
		f.Add(strings.ReplaceAll(good, old, new))
	}
	take := func(w *house.Workshop, file []byte, preview bool) ([]exchange.Arrival, error) {
		b, err := exchange.ReadBundle(bytes.NewReader(file))
		if err != nil {
			return nil, err
		}
		return w.TakeOver(ctx, "EZ",
			exchange.Receiving{From: b.Head.Letters, Name: "test.bundle", Preview: preview}, b.Next)
	}
	f.Fuzz(func(t *testing.T, text string) {
		file := resealed(t, strings.Split(text, "\n"))
		arrived, err := take(w, file, true)
		require.True(t, err == nil || registry.CodeOf(err) != "", "%v", err)
		if err != nil || !slices.ContainsFunc(arrived,
			func(a exchange.Arrival) bool { return a.Does == exchange.ArrivalNew }) {
			return
		}
		own := registrytest.InLetters(t, "EL")
		if _, err := take(own, file, false); err != nil { // what came home is new to this one
			require.NotEmpty(t, registry.CodeOf(err), "%v", err)
		}
		faults, err := own.Store.(*sqlite.DB).Verify(ctx, "EL", nil)
		require.NoError(t, err)
		require.Empty(t, faults)
	})
}

// A number of this house that comes home is given no more, and one that it cannot have given is shown and
// left out.
func TestOwnNumbersComeHome(t *testing.T) {
	there := registrytest.InLetters(t, "EL")
	_, err := registrytest.TakeIn(ctx, there, "tag,maker,serial,drive\nLR5A,Ostermann,B1,hand\n"+
		string(registry.NewTag("LR", 100_000_000))+",Ostermann,B2,hand\n")
	require.NoError(t, err)
	w := registrytest.InLetters(t, "LR")
	arrived, err := receive(w, bundle(t, there, "Lantern Row"))
	require.NoError(t, err)
	require.Len(t, arrived, 2)
	assert.Equal(t, exchange.ArrivalNew, arrived[0].Does)
	assert.Equal(t, exchange.ArrivalClash, arrived[1].Does)
	assert.Equal(t,
		"its number is above 99999999, and this house gave none so high: log the machine here anew",
		arrived[1].Why)
	assert.Equal(t, registry.NewTag("LR", 6), registrytest.Logged(t, w, "Arden", "7").Tag)
}
