package meanwhile

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestAnAnswerIsWaitedForUntilTheContextEnds(t *testing.T) {
	text, err := Answer(t.Context(), func() (string, error) { return "Harrow", errors.New("torn") })
	assert.Equal(t, "Harrow", text)
	assert.EqualError(t, err, "torn")

	ctx, stop := context.WithCancel(t.Context())
	read, never := make(chan struct{}), make(chan struct{})
	defer close(never)
	go func() {
		<-read
		stop()
	}()
	text, err = Answer(ctx, func() (string, error) {
		close(read)
		<-never
		return "too late", nil
	})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Empty(t, text)
	assert.ErrorIs(t, Sleep(ctx, time.Hour), context.Canceled)
	assert.NoError(t, Sleep(t.Context(), time.Nanosecond))
}

func TestThingsMadeAtOnceComeInOrder(t *testing.T) {
	const n = 100
	var got []int
	for v, err := range InOrder(n, func(i int) (int, error) {
		time.Sleep(time.Duration((n-i)%7) * time.Microsecond)
		if i == 60 {
			return 0, errors.New("no paper")
		}
		return i, nil
	}) {
		if err != nil {
			assert.EqualError(t, err, "no paper")
			break
		}
		got = append(got, v)
	}
	assert.Len(t, got, 60)
	assert.IsIncreasing(t, got)
}

func TestSecondsAreTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var screen bytes.Buffer
		p := &Progress{to: &screen, what: "copying, seconds", next: time.Now().Add(progressAfter)}
		done := p.Clock()
		time.Sleep(2500 * time.Millisecond)
		done()
		assert.Equal(t, "\rcopying, seconds: 1\rcopying, seconds: 2\r"+strings.Repeat(" ", 19)+"\r",
			screen.String())
	})
}

// A progress line is written over itself, and wiped at the end.
func TestProgressIsOneLineThatGoes(t *testing.T) {
	var screen bytes.Buffer
	p := &Progress{to: &screen, what: "reading list.csv", total: 200}
	p.At(50)
	p.At(60) // too soon after
	p.next = time.Time{}
	p.At(200)
	p.Done()
	assert.Equal(t, "\rreading list.csv: 25 %\rreading list.csv: 100 %\r"+strings.Repeat(" ", 23)+"\r",
		screen.String())
	assert.NotContains(t, screen.String(), "\n")

	screen.Reset()
	p = &Progress{to: &screen, what: "quick work", next: time.Now().Add(time.Hour)}
	p.At(1)
	p.Done()
	assert.Empty(t, screen.String(), "what takes less than a moment says nothing")
}
