package meanwhile

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"
)

// Progress tells somebody at a terminal how far long work has come, on one line that is wiped at the end.
// Anywhere else it is silent, and so is work that takes less than a moment.
type Progress struct {
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

// NewProgress starts to tell of work of so many units; total 0 is not known.
func NewProgress(to io.Writer, what string, total int64) *Progress {
	p := &Progress{what: what, total: total, next: time.Now().Add(progressAfter)}
	if f, ok := to.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.to = f
	}
	return p
}

// At tells that the work has come so far.
func (p *Progress) At(done int64) {
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

// Clock counts seconds, for work that cannot say how far it has come, until the function that it returns is
// called.
func (p *Progress) Clock() (done func()) {
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
				p.At(int64(time.Since(begun).Seconds()))
			case <-stop:
				p.Done()
				return
			}
		}
	}()
	return func() {
		close(stop)
		<-stopped
	}
}

// Done wipes the line.
func (p *Progress) Done() {
	if p.to != nil && p.wide > 0 {
		fmt.Fprintf(p.to, "\r%s\r", strings.Repeat(" ", p.wide))
	}
}
