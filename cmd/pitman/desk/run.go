package desk

import (
	"fmt"
	"os"
	"runtime"
	"time"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// Run shows the desk on the terminal until the person leaves.
func Run(d *Desk) error {
	registerCharsets()
	s, err := newScreen()
	if err == nil {
		err = s.Init()
	}
	if err != nil {
		return registry.Errorf(registry.Invalid,
			"the desk needs a terminal (%v): run pitman desk in a terminal window, or use pitman log and "+
				"its neighbours in scripts", err)
	}
	defer s.Fini()
	s.EnablePaste()
	events := make(chan tcell.Event, 64)
	stop := make(chan struct{})
	defer close(stop)
	go s.ChannelEvents(events, stop)
	return d.loop(s, events)
}

// newScreen opens the terminal. Old ones ask in their description for pauses that gave paper and phosphor
// time; today they are programs, and a page would only come slowly.
func newScreen() (tcell.Screen, error) {
	known, err := tcell.LookupTerminfo(os.Getenv("TERM"))
	if err != nil || runtime.GOOS == "windows" {
		return tcell.NewScreen()
	}
	hasty := *known
	hasty.PadChar = ""
	return tcell.NewTerminfoScreenFromTtyTerminfo(nil, &hasty)
}

func (d *Desk) loop(s tcell.Screen, events <-chan tcell.Event) error {
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	d.now = time.Now()
	var checked time.Time
	for !d.quit {
		if len(events) == 0 { // a scan is drawn once
			d.Draw(s)
			s.Show()
		}
		wait := time.Hour
		if at := d.Deadline(); !at.IsZero() {
			wait = max(0, time.Until(at))
		}
		timer.Reset(wait)
		select {
		case <-d.ctx.Done():
			d.keep()
			return nil
		case <-timer.C:
			d.Tick(time.Now())
		case ev, open := <-events:
			if !open {
				d.keep() // the terminal is gone
				return nil
			}
			switch ev := ev.(type) {
			case *tcell.EventKey:
				// typed while a PIN was tried: it may be one, and no page asked for it
				if ev.When().Before(checked) {
					continue
				}
				d.Key(ev, ev.When())
				if d.checked {
					d.checked, checked = false, time.Now()
				}
			case *tcell.EventPaste:
				d.Paste(ev.Start())
			case *tcell.EventResize:
				s.Sync()
			case *tcell.EventError:
				return fmt.Errorf("the terminal failed: %w", ev)
			}
		}
	}
	return nil
}
