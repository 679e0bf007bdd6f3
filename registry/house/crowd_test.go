package house_test

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/stock"
)

// crowdDesk writes at full speed, a mix of logging and correcting, and prints what it waited for each write.
func crowdDesk(dir, desk string) error {
	count, name, _ := strings.Cut(desk, " ")
	writes, err := strconv.Atoi(count)
	if err != nil {
		return err
	}
	return visitHouse(dir, func(w *house.Workshop) error {
		var own []registry.Tag
		for n := range writes {
			start := time.Now()
			var tag registry.Tag
			if n%3 == 2 {
				tag = own[n/3]
				_, err = w.Amend(ctx, registry.Initials(name), tag, "",
					func(m *stock.Machine) error { m.Place = fmt.Sprint("shelf ", n); return nil })
			} else {
				m := stock.Machine{Maker: "Harrow & Finch", Serial: fmt.Sprintf("%s%d", name, n),
					Drive: registry.Hand}
				err = w.Log(ctx, registry.Initials(name), &m, false)
				tag = m.Tag
				own = append(own, tag)
			}
			if err != nil {
				return err
			}
			fmt.Printf("%s %d\n", tag, time.Since(start).Microseconds())
		}
		return nil
	})
}

func TestACrowdOfDesksLosesNothingAndRefusesNobody(t *testing.T) {
	const desks = 8
	writes := rounds(500, 40)
	dir := filepath.Join(t.TempDir(), "house")
	_, err := house.Init(dir, house.Defaults().House)
	require.NoError(t, err)
	start := time.Now()
	var running []*exec.Cmd
	told := make([][]string, desks)
	read := make(chan int)
	for i := range desks {
		cmd, lines := startDesk(t, "crowd", dir, fmt.Sprintf("%d %c", writes, 'A'+i))
		running = append(running, cmd)
		go func() {
			for lines.Scan() {
				told[i] = append(told[i], lines.Text())
			}
			read <- i
		}()
	}
	for range desks {
		<-read
	}
	for i, cmd := range running {
		assert.NoError(t, cmd.Wait(), "desk %d was refused something", i)
	}
	whole := time.Since(start)

	var waits []time.Duration
	tags := map[string]int{}
	for i := range desks {
		require.Len(t, told[i], writes, "desk %d", i)
		for n, line := range told[i] {
			tag, wait, _ := strings.Cut(line, " ")
			us, err := strconv.Atoi(wait)
			require.NoError(t, err)
			waits = append(waits, time.Duration(us)*time.Microsecond)
			if n%3 != 2 {
				tags[tag]++
			}
		}
	}
	for tag, n := range tags {
		assert.Equal(t, 1, n, "%s was given twice", tag)
	}
	h, err := house.Open(dir)
	require.NoError(t, err)
	db, err := h.Registry()
	require.NoError(t, err)
	defer db.Close()
	faults, err := h.Verify(ctx, db)
	require.NoError(t, err)
	assert.Empty(t, faults)
	now, err := db.Summary(ctx)
	require.NoError(t, err)
	assert.Equal(t, int64(desks*writes), now.Actions, "each write is one action")
	assert.Equal(t, int64(len(tags)), now.Machines)

	slices.Sort(waits)
	t.Logf("%d desks, %d writes each: a write took %v in the middle, %v for one in a hundred, %v at worst; "+
		"on average %v passed between two",
		desks, writes, waits[len(waits)/2], waits[len(waits)*99/100], waits[len(waits)-1],
		whole/time.Duration(desks*writes))
}
