package house_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/imports"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

const listed = 300 // machines of a list

// takeInList takes a list in, in turns of some rows; its serials begin with the name.
func takeInList(ctx context.Context, w *house.Workshop, name string) (*imports.Result, error) {
	var text strings.Builder
	text.WriteString("maker,serial,drive\n")
	for i := range listed {
		fmt.Fprintf(&text, "Harrow & Finch,%s%d,hand\n", name, i)
	}
	return registrytest.TakeInTurns(ctx, w, name+".csv", strings.NewReader(text.String()),
		imports.Turns{Above: 1, Rows: 40}, listed+1)
}

// importList takes lists in until it is killed, and prints each once the house has acknowledged it.
func importList(dir, name string) error {
	for n := 0; ; n++ {
		err := visitHouse(dir, func(w *house.Workshop) error {
			_, err := takeInList(ctx, w, fmt.Sprintf("%sN%dN", name, n))
			return err
		})
		if err != nil {
			return err
		}
		fmt.Println(n)
	}
}

// Whenever the program that takes a long list in is killed, the house has all of the list or nothing, however
// it is opened next; and what is acknowledged is there.
func TestAListInTurnsIsThereWholeOrNot(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	whole, broken, short := 0, 0, 0
	for round := range rounds(200, 6) {
		cmd, lines := startDesk(t, "importer", dir, fmt.Sprintf("R%d", round))
		kill := time.AfterFunc(time.Duration(20+rand.IntN(250))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		for lines.Scan() {
			whole++
		}
		assert.ErrorContains(t, cmd.Wait(), "killed")
		kill.Stop()

		h, err := house.Open(dir)
		require.NoError(t, err)
		h.TakenBack = func(a *registry.Action) {
			broken++
			assert.Equal(t, registry.Initials("QX"), a.By)
		}
		var db *sqlite.DB
		if round%2 == 0 {
			db, err = h.Registry()
		} else {
			db, _, err = h.ToVerify()
		}
		require.NoError(t, err)
		faults, err := h.Verify(ctx, db)
		require.NoError(t, err)
		assert.Empty(t, faults)
		there := map[string]int{}
		require.NoError(t, db.View(ctx, func(r stock.Reader) error {
			return r.Machines(stock.MachineFilter{}, func(m *stock.Machine) error {
				there[m.Serial[:strings.LastIndex(m.Serial, "N")]]++
				return nil
			})
		}))
		for list, n := range there {
			assert.Equal(t, listed, n, list)
		}
		if len(there) > whole+short { // the last one was all there before it could be told
			short++
		}
		assert.Len(t, there, whole+short)
		require.NoError(t, db.Close())
		require.False(t, t.Failed(), "round %d", round)
	}
	t.Logf("%d lists whole, %d ended before that was told, %d taken back", whole, short, broken)
	assert.NotZero(t, broken)
}

// inTheMiddle calls fn once, in the third turn.
type inTheMiddle struct {
	stock.Store
	fn   func()
	turn int
}

func (m *inTheMiddle) InTurns(ctx context.Context, a *registry.Action,
	fn func(stock.Tx) (bool, error)) error {
	return m.Store.InTurns(ctx, a, func(tx stock.Tx) (bool, error) {
		if m.turn++; m.turn == 3 {
			m.fn()
		}
		return fn(tx)
	})
}

// What is made of the house while a list comes in is a sound house without the list: a backup, and what
// repair gets out of a copy. Verify finds no fault in the house meanwhile.
func TestAHouseInTheMiddleOfAListIsSoundWithoutIt(t *testing.T) {
	root := t.TempDir()
	dir, backup := filepath.Join(root, "house"), filepath.Join(root, "b.tar.gz")
	copied := filepath.Join(root, "copied")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	h, err := house.Open(dir)
	require.NoError(t, err)
	db, err := h.Registry()
	require.NoError(t, err)
	w := h.Workshop(db)
	require.NoError(t, w.Log(ctx, "MB", registrytest.Machine("K1"), false))
	w.Store = &inTheMiddle{Store: w.Store, fn: func() {
		faults, err := h.Verify(ctx, db)
		assert.NoError(t, err)
		assert.Empty(t, faults)
		_, err = h.Backup(ctx, db, backup)
		assert.NoError(t, err)
		assert.NoError(t, os.CopyFS(copied, os.DirFS(dir)))
	}}
	_, err = takeInList(ctx, w, "N")
	require.NoError(t, err)
	assert.Equal(t, 1+listed, registrytest.Count(t, db))
	require.NoError(t, db.Close())

	_, err = house.Restore(ctx, backup, filepath.Join(root, "restored"), "")
	require.NoError(t, err)
	damaged, err := house.Open(copied)
	require.NoError(t, err)
	r, err := damaged.Repair(ctx, filepath.Join(root, "repaired"), nil, "", nil)
	require.NoError(t, err)
	assert.Contains(t, r.Lost, "import of N.csv by QX, which had come in in part")
	assert.Empty(t, r.Faults)

	for name, told := range map[string]int{"restored": 1, "repaired": 0, "copied": 1} {
		h, err := house.Open(filepath.Join(root, name))
		require.NoError(t, err)
		h.TakenBack = func(*registry.Action) { told-- }
		db, err := h.Registry()
		require.NoError(t, err)
		assert.Equal(t, 1, registrytest.Count(t, db), name)
		faults, err := h.Verify(ctx, db)
		require.NoError(t, err)
		assert.Empty(t, faults, name)
		assert.Zero(t, told, name)
		require.NoError(t, db.Close())
	}
}
