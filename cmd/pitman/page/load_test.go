package page_test

import (
	"fmt"
	"net/http"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Ratios in one run, as bare times hold on one machine only: a page for one phone beside the same reads
// through the registry, and the slowest twentieth of fifty phones, each with one request a second, a fifth of
// them writing beside another program that logs, beside that of one phone alone.
func TestLoad(t *testing.T) {
	if os.Getenv("NIGHTLY") == "" {
		t.Skip("a minute of fifty phones")
	}
	st := newStage(t)
	tag := st.logged(registry.Hand)
	v := st.paired("QX")
	path := "/m/" + string(tag)

	best := func(n int, do func()) time.Duration {
		least := time.Hour
		for range n {
			start := time.Now()
			do()
			least = min(least, time.Since(start))
		}
		return least
	}
	read := best(200, func() {
		w, m := st.server.Workshop, &stock.Machine{}
		require.NoError(t, w.Store.View(t.Context(), func(r stock.Reader) (err error) {
			if m, _, err = stock.HeadOrBase(r, tag); err == nil {
				_, err = r.History(string(tag))
			}
			return err
		}))
		_, err := w.Date(m)
		require.NoError(t, err)
		_, _, err = w.FaultSlip(t.Context(), tag)
		require.Equal(t, registry.NotFound, registry.CodeOf(err))
		_, err = w.AllowedMoves(t.Context(), "QX", m)
		require.NoError(t, err)
		_, err = w.Photos(t.Context(), tag)
		require.NoError(t, err)
	})
	page := best(20, func() { // fewer than a phone may ask for at once
		status, _ := v.get(path)
		require.Equal(t, http.StatusOK, status)
	})
	t.Logf("a page takes %.1f times its reads", float64(page)/float64(read))
	assert.LessOrEqual(t, page, 10*read)

	phones := make([]*visitor, 50)
	for i := range phones {
		st.countsAnew()
		phones[i] = st.paired("QX")
	}
	const seconds = 20
	one := st.busy(phones[:1], seconds)
	stop, logged := make(chan struct{}), make(chan int)
	go func() { logged <- st.logsBeside(stop) }()
	all := st.busy(phones, seconds)
	close(stop)
	n := <-logged
	t.Logf("the slowest twentieth of fifty phones takes %.1f times that of one, beside %d machines logged "+
		"by another program",
		float64(slowest(all))/float64(slowest(one)), n)
	assert.Positive(t, n)
	assert.Less(t, slowest(all), 20*slowest(one))
	registrytest.VerifiesClean(t, st.server.Workshop)
}

// busy lets each phone ask once a second, at moments of its own; every fifth time it fills in a form of a
// machine of its own.
func (st *stage) busy(phones []*visitor, seconds int) (took []time.Duration) {
	var all sync.WaitGroup
	var mu sync.Mutex
	for i, v := range phones {
		path := "/m/" + string(st.logged(registry.Hand))
		all.Go(func() {
			time.Sleep(time.Duration(i) * time.Second / time.Duration(len(phones)))
			for n := range seconds {
				start := time.Now()
				status := 0
				if (i+n)%5 == 0 {
					form := fill(v.form(path+"/place"), "place", fmt.Sprint("long shelf ", n%2))
					start = time.Now()
					status, _ = v.post(path+"/place", form)
				} else {
					status, _ = v.get([]string{path, "/work/bench", "/board", "/orders"}[n%4])
				}
				since := time.Since(start)
				mu.Lock()
				assert.Less(st.t, status, 400, "none is refused")
				took = append(took, since)
				mu.Unlock()
				time.Sleep(time.Second - since)
			}
		})
	}
	all.Wait()
	return took
}

// slowest is what all but a twentieth of the requests take at most.
func slowest(took []time.Duration) time.Duration {
	slices.Sort(took)
	return took[len(took)*95/100]
}

// logsBeside logs machines through a house opened anew for each, as the command does, until it is told to
// stop.
func (st *stage) logsBeside(stop chan struct{}) (n int) {
	dir := st.server.Photos.Dir + "/.."
	for {
		select {
		case <-stop:
			return n
		case <-time.After(100 * time.Millisecond):
		}
		h, err := house.Open(dir)
		if !assert.NoError(st.t, err) {
			return n
		}
		db, err := h.Registry()
		if !assert.NoError(st.t, err) {
			return n
		}
		m := registrytest.Machine(fmt.Sprint("K", 30000+n))
		assert.NoError(st.t, h.Workshop(db).Log(st.t.Context(), "HB", m, false))
		assert.NoError(st.t, db.Close())
		n++
	}
}
