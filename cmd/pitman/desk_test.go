package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"pitman/registry/registrytest/lacking"

	"github.com/stretchr/testify/require"
)

// window is the real desk in a real terminal of 80 by 24: tmux types into it and reads it back.
type window struct {
	*testing.T
	socket, house string
	keys          int
}

// openWindow starts pitman desk. The environment says which terminal and which letters it has.
func openWindow(t *testing.T, houseDir string, env ...string) *window {
	t.Helper()
	lacking.Program(t, "tmux", "tmux")
	w := &window{T: t, house: houseDir}
	w.open(env...)
	return w
}

func (w *window) open(env ...string) {
	w.Helper()
	socket := filepath.Join(w.TempDir(), "tmux") // of its own: a server that is ending takes no new window
	w.socket = socket
	w.Cleanup(func() {
		pid, err := exec.Command("tmux", "-S", socket, "display-message", "-p", "-t", "desk",
			"#{pane_pid}").Output()
		_ = exec.Command("tmux", "-S", socket, "kill-server").Run()
		// The desk puts its things away before it ends, and its folder can only go afterwards.
		for end := time.Now().Add(5 * time.Second); err == nil && time.Now().Before(end); {
			state, gone := exec.Command("ps", "-o", "stat=", "-p", strings.TrimSpace(string(pid))).Output()
			if gone != nil || strings.HasPrefix(string(state), "Z") {
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
	})
	args := append([]string{"env", "-u", "PITMAN_BY", "PITMAN_HOUSE=" + w.house}, env...)
	args = append(args, program(w.T), "desk")
	w.tmux(append([]string{"-f", "/dev/null", "new-session", "-d", "-s", "desk", "-x", "80", "-y", "24"},
		args...)...)
}

func (w *window) tmux(args ...string) string {
	w.Helper()
	cmd := exec.Command("tmux", append([]string{"-S", w.socket, "-u"}, args...)...)
	out, err := cmd.CombinedOutput()
	require.NoError(w, err, "tmux %s: %s", args, out)
	return string(out)
}

func (w *window) screen() string { return w.tmux("capture-pane", "-p", "-t", "desk") }

// sees waits until the words are on the screen.
func (w *window) sees(words ...string) *window {
	w.Helper()
	var page string
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		page = w.screen()
		missing := false
		for _, word := range words {
			missing = missing || !strings.Contains(page, word)
		}
		if !missing {
			return w
		}
	}
	require.Fail(w, "not on the screen", "%q in\n%s", words, page)
	return w
}

// press presses keys one after another; a longer word is typed into a field. Every key is counted.
func (w *window) press(words ...string) *window {
	w.Helper()
	for _, word := range words {
		if word == "Enter" || word == "Escape" || word == "Down" {
			w.tmux("send-keys", "-t", "desk", word)
			w.keys++
		} else {
			w.tmux("send-keys", "-t", "desk", "-l", word)
			w.keys += len(word)
		}
		time.Sleep(100 * time.Millisecond) // a terminal takes what follows Esc at once for a part of it
	}
	return w
}

// scan sends a tag and Enter at once, as a scanner does. It costs no keys.
func (w *window) scan(tag string) *window {
	w.Helper()
	time.Sleep(250 * time.Millisecond)
	w.tmux("send-keys", "-t", "desk", "-l", tag+"\r")
	return w
}

// crash ends the desk as a pulled plug does.
func (w *window) crash() {
	w.Helper()
	pid, err := strconv.Atoi(strings.TrimSpace(w.tmux("display-message", "-p", "-t", "desk", "#{pane_pid}")))
	require.NoError(w, err)
	require.NoError(w, syscall.Kill(pid, syscall.SIGKILL))
	require.Eventually(w, func() bool {
		return exec.Command("tmux", "-S", w.socket, "has-session", "-t", "desk").Run() != nil
	}, 5*time.Second, 20*time.Millisecond)
}

// program is pitman, where testscript has put it.
func program(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("pitman")
	require.NoError(t, err)
	return path
}

// elsewhere runs a command as someone else does on another machine.
func elsewhere(t *testing.T, args ...string) {
	t.Helper()
	if startAll {
		out, err := exec.Command(program(t), args...).CombinedOutput()
		require.NoError(t, err, "%s: %s", args, out)
		return
	}
	var out bytes.Buffer
	require.Zero(t, appWithin(os.Getenv, &out, &out).run(context.Background(), args), "%s: %s", args, &out)
}

func demoHouse(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "house")
	elsewhere(t, "demo", dir)
	return dir
}

// The volunteer: new here, never used a terminal, a van at the door.
func TestVolunteerStory(t *testing.T) {
	t.Parallel()
	w := openWindow(t, demoHouse(t), "TERM=xterm-256color", "LC_ALL=C.UTF-8")
	w.sees("Who are you?").press("nw",
		"Enter").sees("has not been here before").press("Enter").sees("Hello NW", "NW · 0 done today")
	w.keys = 0
	w.press("l").sees("The first letters will").press("har", "Enter").sees("The number stamped on the bed")
	w.press("KA60001",
		"Enter").sees("1922 · table row KA50001–KA99000: 1922").press("t").sees("Enter logs it").press("Enter")
	w.sees("Write this on the tie-on label", "██", "NW · 1 done today")
	tag := regexp.MustCompile(`(LR\w+)   Harrow & Finch, 1922`).FindStringSubmatch(w.screen())[1]
	beside := w.keys - len("har") - len("KA60001") - len("t")
	require.LessOrEqual(t, beside, 20, "keys beside what was typed")
	t.Logf("a known maker was logged with %d keys beside the %d typed", beside, w.keys-beside)

	// Half a machine, and the plug is pulled.
	w.press("Enter").sees("Log a machine").press("ost",
		"Enter").sees("The number stamped").press("B1").scan(tag).sees(tag + "   Harrow & Finch")
	w.press("Escape").sees("Serial         B1").press("23")
	time.Sleep(1300 * time.Millisecond)
	w.crash()
	w.open("TERM=xterm-256color", "LC_ALL=C.UTF-8")
	w.sees("Who are you?").press("nw", "Enter").sees("You had begun to log a machine", "Ostermann",
		"B123").press("Enter").sees("Serial         B123")
	w.press("456",
		"Enter").sees("1908").press("h").sees("Enter logs it").press("Enter").sees("Ostermann, 1908",
		"NW · 2 done today")
	w.press("Escape").sees("What would you like to do?").press("q")
}

// The tester: a shelf of machines off the bench, and a scanner. The house measures no stitch here.
func TestTesterStory(t *testing.T) {
	t.Parallel()
	house := demoHouse(t)
	require.NoError(t, os.MkdirAll(filepath.Join(house, "lists"), 0o700))
	require.NoError(t,
		os.WriteFile(filepath.Join(house, "lists", "points.csv"), []byte("point,ask,drive,measured\n"+
			"turns,Does it turn without a tight spot?,any,\ntension,Do the tension discs "+
			"hold?,any,\nmotor,Does the motor start?,electric,\n"), 0o600))
	config, err := os.ReadFile(filepath.Join(house, "house.toml"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(house, "house.toml"),
		append(config, "\n[test]\nwithout_points = [\"all\"]\n"...), 0o600))
	for _, tag := range []string{"LR576", "LR584", "LR568"} {
		elsewhere(t, "--house", house, "triage", tag, "--to", "refurbish", "--why", "complete", "--by", "MB")
		elsewhere(t, "--house", house, "bench", "start", tag, "--by", "MB")
		elsewhere(t, "--house", house, "bench", "finish", tag, "--by", "MB")
	}
	w := openWindow(t, house, "TERM=xterm-256color", "LC_ALL=C.UTF-8")
	w.sees("Who are you?").press("nw", "Enter", "Enter").sees("Hello NW")
	for _, tag := range []string{"LR576", "LR584"} {
		w.scan(tag).sees(tag+"   Harrow & Finch", "t   test how it sews")
		w.keys = 0
		w.press("t").sees("Test " + tag +
			": still NW?").press("Enter").sees("1 of 2").press("a").sees("records the pass").
			press("Enter").sees("Passed. " + tag)
		require.LessOrEqual(t, w.keys, 4, "keys after the scan")
		t.Logf("%s passed with %d keys after the scan", tag, w.keys)
	}
	w.scan("LR568").sees("LR568   Tamarisk Zigzag", "do not plug in: not safety tested").press("t", "Enter").
		sees("has no safety pass", "do not plug in: not safety tested")
	w.press("e", "Enter").sees("list of competent people").press("Escape").sees("What would you like to do?",
		"NW · 2 done today").press("q")
}

// The coordinator: what to do next, a decision, a hold, a mistake taken back.
func TestCoordinatorStory(t *testing.T) {
	t.Parallel()
	w := openWindow(t, demoHouse(t), "TERM=vt100", "LC_ALL=C", "NO_COLOR=1")
	w.sees("Who are you?").press("tv", "Enter").sees("What would you like to do?", "Next: ORD1").press("n").
		sees("What to do next, most urgent first", "ORD1")
	w.press("c").sees("for the coordinator", "ORD1").press("Escape",
		"Escape").sees("What would you like to do?")
	w.scan("LR576").sees("r   refurbish it").press("r").sees("complete and turns").press("comp", "Down")
	w.press("Enter").sees("is now queued: waits for a bench").press("h", "donor asks to wait", "Enter").
		sees("held: donor asks to wait", "g   let it go on")
	w.press("u").sees("taken back").press("Enter").sees("Undone: hold by TV",
		"queued (waits for a bench)").press("Escape", "Escape").
		sees("What would you like to do?").press("q")
}

// Old terminals, no colour, no letters beyond ASCII.
func TestDeskOnOldTerminals(t *testing.T) {
	t.Parallel()
	house := demoHouse(t)
	for _, env := range [][]string{
		{"TERM=vt100", "LC_ALL=C", "NO_COLOR=1"},
		{"TERM=xterm", "LC_ALL=C"},
		{"TERM=screen", "LC_ALL=en_GB.ISO-8859-1"},
		{"TERM=vt100", "LC_ALL=C.UTF-8"},
	} {
		t.Run(fmt.Sprint(env), func(t *testing.T) {
			t.Parallel()
			w := openWindow(t, house, env...)
			w.sees("Who are you?").press("qx",
				"Enter").sees("What would you like to do?").scan("LR2G").sees("LR2G   Harrow & Finch",
				"c   correct what")
			w.press("Escape").sees("What would you like to do?").press("l").sees("The first letters will")
			if !strings.Contains(env[1], "UTF") {
				screen := w.screen()
				for _, r := range screen {
					require.Less(t, r, rune(0x80), "%q in\n%s", r, screen)
				}
			}
			raw := w.tmux("capture-pane", "-p", "-e", "-t", "desk")
			require.NotRegexp(t, `\x1b\[(3|4|9|10)[0-8]`, raw, "colour")
			w.press("Escape").press("q")
		})
	}
}
