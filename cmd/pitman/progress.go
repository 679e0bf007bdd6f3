package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"
)

// progress tells somebody at a terminal how far long work has come, on one line that is wiped at the end.
// Anywhere else it is silent, and so is work that takes less than a moment.
type progress struct {
	to    io.Writer // nil: silent
	what  string
	total int64
	next  time.Time
	wide  int
}

const (
	progressAfter = 400 * time.Millisecond
	progressEvery = 200 * time.Millisecond
)

// progress starts to tell of work of so many units; total 0 is not known.
func (a *app) progress(what string, total int64) *progress {
	p := &progress{what: what, total: total, next: time.Now().Add(progressAfter)}
	if f, ok := a.stderr.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.to = f
	}
	return p
}

// at tells that the work has come so far.
func (p *progress) at(done int64) {
	if p.to == nil {
		return
	}
	now := time.Now()
	if now.Before(p.next) {
		return
	}
	p.next = now.Add(progressEvery)
	line := fmt.Sprintf("%s: %d", p.what, done)
	if p.total > 0 {
		line = fmt.Sprintf("%s: %d %%", p.what, min(100, done*100/p.total))
	}
	fmt.Fprintf(p.to, "\r%-*s", p.wide, line)
	p.wide = max(p.wide, len(line))
}

// clock counts seconds, for work that cannot say how far it has come, until the function that it returns is
// called.
func (p *progress) clock() (done func()) {
	if p.to == nil {
		return func() {}
	}
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		begun := time.Now()
		for every := time.Tick(time.Second); ; {
			select {
			case <-every:
				p.at(int64(time.Since(begun).Seconds()))
			case <-stop:
				p.done()
				return
			}
		}
	}()
	return func() {
		close(stop)
		<-stopped
	}
}

// done wipes the line.
func (p *progress) done() {
	if p.to != nil && p.wide > 0 {
		fmt.Fprintf(p.to, "\r%s\r", strings.Repeat(" ", p.wide))
	}
}
