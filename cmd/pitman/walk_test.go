package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is likely to be done next at each stage, so that a walk comes far; TAG is the machine.
var likely = map[string][]string{
	"logged": {"triage TAG --to refurbish --why ok", "triage TAG --to refurbish --why ok",
		"triage TAG --to WAY --why old --heritage-seen-by MB"},
	"queued": {"bench start TAG", "bench start TAG",
		"convert TAG --to DRIVE --bought motor --remove hand-crank"},
	"bench": {"bench finish TAG --job clean --minutes 10", "bench finish TAG", "spare fit TAG PART",
		"spare fit TAG PART --bought", "spare need TAG PART"},
	"check": {"test TAG --pass all", "test TAG --pass all", "test TAG --pass all --fail tension=loops",
		safetyPass, safetyPass, strings.Replace(safetyPass, "88", "0.1", 1)},
	"parts": {"spare take TAG PART", "spare take TAG PART", "triage TAG --to refurbish --why after-all"},
	"ready": {"match --confirm", "kit put TAG"},
	"reserved": {"kit put TAG", "order swap TAG", "order pack ORDER ALL --heritage-seen-by MB",
		"order pack ORDER ALL --heritage-seen-by MB", "order release ORDER TAG"},
	"packed":  {"order ship ORDER", "order ship ORDER", "order unpack ORDER TAG"},
	"shipped": {"report-back TAG --damage handwheel"},
	"held":    {"release TAG", safetyPass},
}

const safetyPass = "safety TAG --class II --visual pass --insulation 88 --switch-on --leakage 0.05 " +
	"--polarity n/a --plug C --fuse n/a --volts 220-240 --hertz 50/60 --watts 75 --motor brush " +
	"--instrument MG-1"

// What may be done at any time, whether it makes sense or not. UNIT is a head or a base.
var anytime = strings.Split(`log --maker Ostermann --serial NUMBER --drive DRIVE --again --either-way yes --bed 371x178 --pins 241 --wheel 72 --groove yes --axis-height 112
log --maker Tamarisk --serial none --drive DRIVE --place bay-NUMBER
amend TAG --drive DRIVE
amend TAG --serial K?NUMBER
amend TAG --arrived-with UNIT
amend TAG --place bay-1
amend TAG --seen 1931
redate --apply
hold UNIT --why wait
release UNIT
undo
undo UNIT
undo ORDER
convert TAG --to DRIVE --bought motor --remove hand-crank
spare take TAG PART
spare fit TAG PART
spare count PART 2
base add --opening 374x181 --pins 241 --flywheel 305 --centre 560 --parts all --top missing --form flat-packed
base ready UNIT
base amend UNIT --pins 244
base amend UNIT --form flat-packed
triage UNIT --to WAY --why x
move UNIT UNIT bay-1
count bay-1 UNIT --correct
kit put TAG
kit back TAG
kit stock add needle-round 50
order open --for Fell --due 2032-01-01 --supply 230V/50Hz/G
order line ORDER treadle-set NUMBER
order line ORDER hand NUMBER
order line ORDER electric NUMBER
order change ORDER 1 NUMBER
order release ORDER
order cancel ORDER --why no
match --confirm
match --confirm ORDER
order pack ORDER ALL --heritage-seen-by MB
order ship ORDER
order unpack ORDER UNIT
order swap TAG --to TAG
label TAG -o l.pdf
bundle out to.bundle --to there UNIT UNIT
bundle out to.bundle --to there UNIT`, "\n")

// notForPeople is what no sentence of a refusal says: it would come from underneath.
var notForPeople = regexp.MustCompile(`(?i)sql|constraint|no rows|strconv|unmarshal|runtime|nil pointer`)

// People do things in an order that nobody thought of. Whatever is let through leaves both houses without a
// fault; whatever is refused is refused in one sentence, and leaves them as they were.
func TestAnyOrderOfCommandsLeavesTheHousesSound(t *testing.T) {
	seeds, steps := uint64(3), 250
	if os.Getenv("NIGHTLY") == "" {
		seeds, steps = 1, 60
	}
	done := map[string]int{} // by the first word: how often it was let through
	for seed := range seeds {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Chdir(t.TempDir())
			w := &walker{t: t, dice: rand.New(rand.NewPCG(seed, 7)),
				now: time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC), done: done}
			w.must("a", "demo", "a")
			w.must("b", "init", "--letters", "BB")
			w.must("b", "log", "--maker", "Tamarisk", "--serial", "1", "--drive", "hand", "--by", "EZ")
			for i := range steps {
				w.step()
				if i%50 == 49 || i == steps-1 {
					w.must("a", "verify")
					w.must("b", "verify")
				}
			}
		})
	}
	for _, verb := range []string{"log", "triage", "bench", "test", "safety", "spare", "kit", "match",
		"order", "undo", "bundle"} {
		assert.True(t, os.Getenv("NIGHTLY") == "" || done[verb] > 0, "%s was never let through: %v", verb,
			done)
	}
}

type walker struct {
	t    *testing.T
	dice *rand.Rand
	now  time.Time
	done map[string]int
	last []string
}

// step does something likely, or anything, in one of the houses.
func (w *walker) step() {
	house := pick(w.dice, []string{"a", "a", "a", "b"})
	var machines, bases []struct{ Tag, Stage string }
	var orders []struct{ Order string }
	w.read(house, &machines, "list", "--json")
	w.read(house, &bases, "base", "list", "--json")
	w.read(house, &orders, "order", "list", "--json")
	m := pick(w.dice, machines)
	text := pick(w.dice, anytime)
	if next := likely[m.Stage]; next != nil && w.dice.IntN(3) > 0 {
		text = pick(w.dice, next)
	}
	order := "ORD1"
	if len(orders) > 0 {
		order = pick(w.dice, orders).Order
	}
	words := []string{"--by", pick(w.dice, []string{"QX", "TV", "MB", "NW"})}
	for _, word := range strings.Fields(text) {
		switch word {
		case "TAG":
			word = m.Tag
			m = pick(w.dice, machines) // where two are named
		case "UNIT":
			word = pick(w.dice, append(machines, bases...)).Tag
		case "ORDER":
			word = order
		case "ALL":
			var shown struct{ Sets []struct{ Head, Base string } }
			w.read(house, &shown, "order", "show", order, "--json")
			for _, s := range shown.Sets {
				words = append(words, strings.Fields(s.Head+" "+s.Base)...)
			}
			continue
		case "PART":
			word = pick(w.dice,
				[]string{"handwheel", "feed-dog", "motor", "needle-bar", "hand-crank", "foot-control"})
		case "DRIVE":
			word = pick(w.dice, []string{"hand", "treadle", "electric"})
		case "WAY":
			word = pick(w.dice, []string{"refurbish", "parts", "sale", "scrap"})
		default:
			word = strings.Replace(word, "NUMBER", fmt.Sprint(1+w.dice.IntN(4)), 1)
		}
		words = append(words, word)
	}
	status, _, _ := w.run(house, words...)
	if status == 0 && strings.HasPrefix(text, "bundle") {
		other := map[string]string{"a": "b", "b": "a"}[house]
		if status, _, _ := w.run(other, "bundle", "in", "to.bundle", "--by", "EZ"); status == 0 {
			_, out, _ := w.run(other, "bundle", "in", "to.bundle", "--by", "EZ")
			assert.Contains(w.t, out, ": 0 new, 0 with more history", "a bundle is read once")
		}
	}
}

// read reads what a command prints as JSON; nothing where it refuses.
func (w *walker) read(house string, v any, args ...string) {
	if status, out, _ := w.run(house, args...); status == 0 {
		require.NoError(w.t, json.Unmarshal([]byte(out), v), "%v", args)
	}
}

func (w *walker) must(house string, args ...string) {
	status, out, errs := w.run(house, args...)
	require.Zero(w.t, status, "%v: %s%s\nafter %s", args, out, errs, strings.Join(w.last, "\n"))
}

// run runs a command a little later than the last one.
func (w *walker) run(house string, args ...string) (status int, out, errs string) {
	w.now = w.now.Add(time.Duration(w.dice.IntN(40)) * time.Minute)
	var printed, said bytes.Buffer
	a := &app{in: &bytes.Buffer{}, out: &printed, err: &said, now: func() time.Time { return w.now }}
	dir, err := filepath.Abs(house)
	require.NoError(w.t, err)
	status = a.run(context.Background(), append([]string{"--house", dir}, args...))
	line := fmt.Sprintf("%s: %s: %d %s", house, strings.Join(args, " "), status, said.String())
	w.last = append(w.last[max(0, len(w.last)-20):], line)
	require.Less(w.t, status, exitUsage, line)
	assert.NotRegexp(w.t, notForPeople, said.String(), line)
	if status == exitFailed {
		refusal := said.String()[strings.Index(said.String(), "pitman: ")+1:]
		assert.Equal(w.t, 1, strings.Count(refusal, "\n"), line)
	} else {
		for _, word := range args {
			if word != "--by" && word != strings.ToUpper(word) {
				w.done[word]++
				break
			}
		}
	}
	return status, printed.String(), said.String()
}

func pick[T any](dice *rand.Rand, from []T) T { return from[dice.IntN(len(from))] }
