package house_test

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// The tests below run this test binary again as the desk of another volunteer, by a role in its environment.
const roleVariable = "PITMAN_TEST_ROLE"

func TestMain(m *testing.M) {
	roles := map[string]func(dir, desk string) error{"worker": worker, "crowd": crowdDesk,
		"importer": importList}
	if role, ok := roles[os.Getenv(roleVariable)]; ok {
		if err := role(os.Args[1], os.Args[2]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// desk starts this binary in a role.
func startDesk(t *testing.T, role, dir, desk string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self, dir, desk)
	cmd.Env = append(os.Environ(), roleVariable+"="+role)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	return cmd, bufio.NewScanner(out)
}

// worker acts in a loop until it is killed, and prints each action once the house has acknowledged it. Every
// few actions it leaves the house and comes back, as a command does.
func worker(dir, desk string) error {
	dice := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 1))
	for visit := 0; ; visit++ {
		err := visitHouse(dir, func(w *house.Workshop) error {
			order := orders.Order{Partner: "Lantern Row training centre", Due: "2099-03-01"}
			if err := w.OpenOrder(ctx, "QX", &order); err != nil {
				return err
			}
			line := orders.OrderLine{Order: order.Number, Wanted: orders.HandMachine, Asked: 6}
			if err := w.AddLine(ctx, "QX", &line); err != nil {
				return err
			}
			for n := range 1 + dice.IntN(6) {
				m := stock.Machine{Maker: "Harrow & Finch", Serial: stock.NoSerial, Drive: registry.Hand}
				if err := w.Log(ctx, "QX", &m, false); err != nil {
					return err
				}
				fmt.Printf("%s log -\n", m.Tag)
				place := fmt.Sprintf("shelf %s.%d.%d", desk, visit, n)
				_, err := w.Amend(ctx, "QX", m.Tag, "",
					func(m *stock.Machine) error { m.Place = place; return nil })
				if err != nil {
					return err
				}
				fmt.Printf("%s amend %s\n", m.Tag, place)
				tested, err := toTheTest(w, m.Tag)
				if err != nil {
					return err
				}
				fmt.Printf("%s test\n", m.Tag)
				if err := w.Reserve(ctx, "QX", "",
					[]orders.Reservation{{Order: order.Number, Line: line.Line, Head: *tested}}); err != nil {
					return err
				}
				fmt.Printf("%s match %s\n", m.Tag, order.Number)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
}

// toTheTest takes a machine over the bench to a function test that it passes.
func toTheTest(w *house.Workshop, tag registry.Tag) (*stock.Machine, error) {
	if _, err := w.Triage(ctx, "QX", tag, "refurbish", "complete", ""); err != nil {
		return nil, err
	}
	if _, err := w.BenchStart(ctx, "QX", tag, bench.WorkNote{}); err != nil {
		return nil, err
	}
	if _, err := w.BenchFinish(ctx, "QX", tag, bench.WorkNote{}); err != nil {
		return nil, err
	}
	m, _, err := w.Test(ctx, "RS", tag, bench.TestForm{PassAll: true})
	return m, err
}

func visitHouse(dir string, fn func(*house.Workshop) error) error {
	h, err := house.Open(dir)
	if err != nil {
		return err
	}
	db, err := h.Registry()
	if err != nil {
		return err
	}
	defer db.Close()
	return fn(h.Workshop(db))
}

// rounds is how often to do what only shows in the long run: often in the nightly run, seldom on each change.
func rounds(long, short int) int {
	if os.Getenv("NIGHTLY") == "" {
		return short
	}
	return long
}

func TestNothingAcknowledgedIsLostWhenTheDeskIsKilled(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	acknowledged, halfway := 0, 0
	for round := range rounds(200, 8) {
		var told []string
		cmd, lines := startDesk(t, "worker", dir, fmt.Sprint(round))
		// Half of the rounds end at an action, the others at any time, the opening of the house included.
		after := time.Duration(rand.IntN(60)) * time.Millisecond
		if round%2 == 0 {
			after = time.Minute
		}
		kill := time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
		for lines.Scan() {
			told = append(told, lines.Text())
			if round%2 == 0 && len(told) == 1+round%17 {
				_ = cmd.Process.Kill()
			}
		}
		assert.ErrorContains(t, cmd.Wait(), "killed", "a desk that stops by itself has refused something")
		kill.Stop()
		acknowledged += len(told)
		if len(told)%4 != 0 {
			halfway++
		}
		checkTold(t, dir, told)
		if t.Failed() {
			t.Fatalf("round %d", round)
		}
	}
	t.Logf("%d acknowledged actions, all there; %d rounds ended between two acknowledged actions on a machine", acknowledged, halfway)
	assert.NotZero(t, acknowledged)
}

// checkTold looks for every acknowledged action, and for anything that is half there.
func checkTold(t *testing.T, dir string, told []string) {
	t.Helper()
	h, err := house.Open(dir)
	require.NoError(t, err)
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close()
	faults, err := h.Verify(ctx, db)
	require.NoError(t, err)
	assert.Empty(t, faults)
	require.NoError(t, db.View(ctx, func(r stock.Reader) error {
		for _, line := range told {
			tag, rest, _ := strings.Cut(line, " ")
			verb, detail, _ := strings.Cut(rest, " ")
			m, err := stock.MachineByTag(r, registry.Tag(tag))
			if err != nil {
				return err
			}
			switch verb {
			case "amend":
				assert.Equal(t, detail, m.Place, tag)
			case "test":
				assert.Contains(t, []registry.Stage{registry.Ready, registry.Reserved}, m.Stage, tag)
			case "match":
				assert.Equal(t, registry.Reserved, m.Stage, tag)
				set, err := promise.SetOf(r, m.Tag)
				if err != nil {
					return err
				}
				assert.Equal(t, detail, set.Order, tag)
			}
			events, err := r.History(tag)
			if err != nil {
				return err
			}
			verbs := []string{}
			for _, e := range events {
				verbs = append(verbs, e.Action)
			}
			assert.Contains(t, verbs, verb, tag)
		}
		return nil
	}))
}
