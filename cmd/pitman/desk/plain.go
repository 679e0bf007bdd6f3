package desk

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// endless is the width of a page that is read line by line: nothing is cut or broken, since what reads it
// does that.
const endless = 10_000

// lined is a page of lines of which one is chosen; n counts from 1.
type lined interface {
	choose(n int) bool
}

// RunPlain is the desk line by line, with the same pages and words: for screen readers, for terminals that
// cannot move their cursor, and for scripts. It ends when its input ends. While a PIN is asked for and tried,
// unseen lets nobody see what is typed, until its end is called, which throws away what nobody asked for.
func RunPlain(d *Desk, in io.Reader, out io.Writer, unseen func() (end func())) error {
	fmt.Fprintln(out,
		"The desk, line by line. Type what is asked and press Enter. An empty line is Enter by itself. A "+
			"full stop alone is Esc: it goes\n"+
			"back. A minus alone empties a line that has something in it. A figure chooses what stands "+
			"behind it.")
	asks, lines := make(chan struct{}, 1), make(chan string)
	go readLines(d.ctx, in, asks, lines)
	for !d.quit {
		d.now = time.Now()
		d.tell(out)
		end := func() {}
		if _, secret := d.top().(secret); secret {
			show := unseen()
			end = func() {
				show()
				fmt.Fprintln(out) // the Enter was not seen either
			}
		}
		asks <- struct{}{}
		select {
		case <-d.ctx.Done():
			end()
			d.keep()
			return nil
		case line, ok := <-lines:
			if !ok {
				end()
				d.keep()
				fmt.Fprintln(out)
				return nil
			}
			d.message, d.caution = "", false
			d.Line(line)
		}
		end()
	}
	return nil
}

// secret is a page whose letters nobody sees.
type secret interface{ secret() }

func (*signs) secret()      {}
func (*choosesPIN) secret() {}

// readLines reads on the side, so that the desk ends when it is told to, and no line before it is asked for.
func readLines(ctx context.Context, in io.Reader, asks <-chan struct{}, lines chan<- string) {
	defer close(lines)
	scan := bufio.NewScanner(in)
	scan.Buffer(nil, 1<<20)
	for {
		select {
		case <-asks:
		case <-ctx.Done():
			return
		}
		if !scan.Scan() {
			return
		}
		select {
		case lines <- scan.Text():
		case <-ctx.Done():
			return
		}
	}
}

// Line does what a line says on the page on top.
func (d *Desk) Line(line string) {
	line = strings.TrimSpace(harmless(line))
	d.rested, d.afterLetter, d.burst = time.Hour, false, burst{}
	enter := tcell.NewEventKey(tcell.KeyEnter, 0, tcell.ModNone)
	if line == "." {
		d.deliver(tcell.NewEventKey(tcell.KeyEscape, 0, tcell.ModNone))
		return
	}
	if line == "" {
		d.deliver(enter)
		return
	}
	n, err := strconv.Atoi(line)
	figure := err == nil
	if l, ok := d.top().(lined); ok && figure && l.choose(n) {
		d.deliver(enter)
		return
	}
	if field := d.top().typing(); field != nil {
		d.typeInto(field, line, n)
		d.deliver(enter)
		return
	}
	switch tag, err := registry.ParseTag(line); {
	case utf8.RuneCountInString(line) == 1:
		r, _ := utf8.DecodeRuneInString(line)
		d.deliver(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone))
	case err == nil && len(line) > 2:
		d.found(tag)
	default:
		d.burst = burst{text: line}
		d.takeWord()
		if d.top().typing() != nil {
			d.deliver(enter)
		}
	}
}

// typeInto has a field hold the line; a figure chooses one of the words that are offered beside it.
func (d *Desk) typeInto(field *editor, line string, n int) {
	o, offers := d.top().(offerer)
	if offers {
		if all := o.offering().found; n > 0 && n <= min(len(all), maxOffered) &&
			(field.text() == "" || o.offering().asks) {
			line, _, _ = strings.Cut(all[n-1], " · ")
			o.offering().narrow(line)
			o.offering().at = 0
			*field = edit(line)
			return
		}
	}
	if line == "-" {
		line = ""
	}
	*field = edit(line)
	if offers {
		o.offering().narrow(line)
		if !o.offering().eager {
			o.offering().at = 0
		}
	}
}

var (
	gaps  = regexp.MustCompile(` {3,}`)
	drawn = regexp.MustCompile(`^[█ ]+$`)
)

// tell prints the page on top.
func (d *Desk) tell(out io.Writer) {
	p := d.top().view(d, endless)
	lines := []string{p.title}
	_, numbered := d.top().(lined)
	for i, l := range p.body {
		var b strings.Builder
		for _, part := range l {
			b.WriteString(part.text)
		}
		t := strings.TrimRight(gaps.ReplaceAllString(strings.TrimSpace(b.String()), "  "), " ")
		if numbered && d.top().typing() == nil && i >= p.pinned {
			t = fmt.Sprintf("%d  %s", i-p.pinned+1, t)
		}
		if t != "" && !drawn.MatchString(t) {
			lines = append(lines, "  "+t)
		}
	}
	if o, ok := d.top().(offerer); ok && d.top().typing() != nil {
		lines = slices.DeleteFunc(lines, func(l string) bool { return strings.HasPrefix(l, "  ▸") })
		if shown := o.offering().found; d.top().typing().text() == "" || o.offering().asks {
			for i, name := range shown[:min(len(shown), maxOffered)] {
				lines = slices.DeleteFunc(lines, func(l string) bool { return l == "  "+name })
				lines = append(lines, fmt.Sprintf("  %d  %s", i+1, name))
			}
		}
	}
	if clock := d.ClockBehind(); clock != "" {
		lines = append(lines, clock)
	}
	if _, first := d.top().(*home); first {
		lines = append([]string{d.Config.House.Name}, lines...)
		if kept := d.kept(); kept != "" {
			lines = append(lines, kept)
		}
		if d.next != "" {
			lines = append(lines, "Next: "+d.next)
		}
	}
	if d.message != "" {
		lines = append(lines, d.message)
	}
	if p.keys != "" {
		lines = append(lines, "["+gaps.ReplaceAllString(p.keys, "; ")+"]")
	}
	fmt.Fprintln(out)
	for _, l := range lines {
		fmt.Fprintln(out, harmless(l))
	}
	fmt.Fprint(out, "> ")
}

func (w *worklist) choose(n int) bool {
	if n < 1 || n > len(w.tasks) {
		return false
	}
	w.at = n - 1
	return true
}

func (s *sheet) choose(n int) bool {
	if s.typed || n < 1 || n > len(s.now) {
		return false
	}
	s.at = n - 1
	return true
}
