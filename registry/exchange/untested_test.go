package exchange_test

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/planning"
	"pitman/registry/recall"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/undo"
)

// truth is what this test knows of one machine, from what was done to it and not from what the program says:
// in each house, whether something on it takes the mains, and since when a pass of its present parts stands.
type truth struct {
	mains   map[string]bool
	pass    map[string]time.Time
	paused  map[string]time.Time // a pass that work ended which touched nothing of the mains
	by      registry.Initials    // who logged it
	logged  time.Time
	touched bool // tested, or worked on
	visit   *visit
	cutOff  map[string]bool // somebody competent sold it untested, with its plug cut off
}

// visit is the beginning of work at the bench, which its beginner may take back within minutes.
type visit struct {
	by   registry.Initials
	at   time.Time
	pass time.Time // what stood before; none is zero
}

// walk does anything at any time to electrics in two houses.
type walk struct {
	*testing.T
	dice   *rand.Rand
	now    time.Time
	latest map[string]time.Time // when anything was done in a house last
	houses map[string]*house.Workshop
	known  map[registry.Tag]*truth
	stood  map[string]registry.Stage // by house and tag
	did    []string
	let    map[string]int
	kept   map[string]*keptHouse // the last backup of each house
}

// keptHouse is a backup, and what was known then.
type keptHouse struct {
	path   string
	latest time.Time
	known  map[registry.Tag]truth
}

const passDays = 30

func newWalk(t *testing.T, seed uint64) *walk {
	w := &walk{T: t, dice: rand.New(rand.NewPCG(seed, 11)), now: time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC),
		latest: map[string]time.Time{}, houses: map[string]*house.Workshop{},
		known: map[registry.Tag]*truth{},
		stood: map[string]registry.Stage{}, let: map[string]int{}, kept: map[string]*keptHouse{}}
	for _, name := range []string{"PM", "EL"} {
		h := registrytest.Workshop(t)
		h.Config.House.Letters = name
		h.Config.Safety.ValidDays = passDays
		h.Config.Safety.VisualRevives = true
		h.Now = func() time.Time { return w.now }
		w.houses[name] = h
		o := &orders.Order{Partner: "Marsh Lane centre", Due: "2032-03-01", Supply: "230V/50Hz/G"}
		require.NoError(t, h.OpenOrder(ctx, "QX", o))
		for _, what := range []orders.Wanted{orders.ElectricOne, orders.HandMachine, orders.ElectricOne} {
			require.NoError(t,
				h.AddLine(ctx, "QX", &orders.OrderLine{Order: o.Number, Wanted: what, Asked: 3}))
		}
		_, err := h.ChangeSupply(ctx, "QX", "needle", 500)
		require.NoError(t, err)
	}
	for range 6 {
		w.log("PM")
	}
	w.log("EL")
	return w
}

func (w *walk) log(in string) {
	h, by := w.houses[in], w.person()
	m := &stock.Machine{Maker: "Ostermann", Serial: fmt.Sprint(len(w.known) + 1), Stitch: "lockstitch",
		Drive: pick(w.dice, registry.Electric, registry.Electric, registry.Hand)}
	if err := h.Log(ctx, by, m, true); err != nil {
		return
	}
	w.known[m.Tag] = &truth{mains: map[string]bool{in: m.Drive == registry.Electric},
		pass: map[string]time.Time{}, paused: map[string]time.Time{}, cutOff: map[string]bool{}, by: by,
		logged: w.now}
	w.latest[in] = w.now
}

func pick[T any](dice *rand.Rand, from ...T) T { return from[dice.IntN(len(from))] }

func (w *walk) person() registry.Initials {
	return pick[registry.Initials](w.dice, "QX", "MB", "EL", "EL")
}

// voided ends the pass of a machine in the house where it was worked on; the other hears of it by bundle.
func (k *truth) voided(in string) {
	delete(k.pass, in)
	delete(k.paused, in)
	k.touched = true
}

// pause ends the pass, and leaves it to a look alone to give it back.
func (k *truth) pause(in string) {
	at, made := k.pass[in]
	if !made {
		at, made = k.paused[in]
	}
	if k.voided(in); made {
		k.paused[in] = at
	}
}

// stands says whether a pass made in the house still counts at its later clock.
func (w *walk) stands(in string, k *truth) bool {
	at, made := k.pass[in]
	judged := w.now
	if w.latest[in].After(judged) {
		judged = w.latest[in]
	}
	return made && judged.Before(at.AddDate(0, 0, passDays))
}

// step does one thing to one machine. What the house lets happen changes what is known of it.
func (w *walk) step() {
	w.now = w.now.Add(time.Duration(w.dice.IntN(9)) * time.Minute)
	switch w.dice.IntN(40) {
	case 0:
		w.now = w.now.AddDate(0, 0, w.dice.IntN(2*passDays))
	case 1:
		w.now = w.now.AddDate(0, 0, -w.dice.IntN(passDays))
	}
	in := pick(w.dice, "PM", "PM", "PM", "EL")
	h, by := w.houses[in], w.person()
	tags := []registry.Tag{}
	for tag := range w.known {
		tags = append(tags, tag)
	}
	slices.Sort(tags)
	tag := pick(w.dice, tags...)
	m, err := h.Machine(ctx, tag)
	if err != nil {
		return
	}
	k := w.known[tag]
	does := w.likely(m)
	if w.dice.IntN(3) == 0 {
		does = pick(w.dice, "safety pass", "safety fail", "bench start", "bench note", "bench oil",
			"bench finish", "look", "look", "test pass",
			"test fail", "convert away", "convert away unsure", "convert to electric", "amend drive", "mains",
			"fit",
			"take", "hold", "release", "sale", "reserve", "give back", "kit", "pack", "unpack", "ship",
			"undo", "undo",
			"undo mine", "hand over", "import", "refurbish", "log", "recall", "untested sale",
			"untested sale",
			"back up", "restore")
	}
	lost, err := w.do(does, in, h, by, m, k)
	w.did = append(w.did,
		fmt.Sprintf("%s %s: %s by %s on %s (%s): %v", w.now.Format("01-02 15:04"), in, does, by,
			tag, m.Stage, err))
	if err != nil {
		if registry.CodeOf(err) == "" {
			require.NoError(w, err, does)
		}
		return
	}
	w.let[does]++
	w.latest[in] = w.now
	h = w.houses[in]
	if after, err := h.Machine(ctx, tag); err == nil && after.TakesMains() != k.mains[in] {
		w.holds(!k.mains[in] || lost, string(tag)+" takes the mains no longer, and nobody who may said so")
		k.mains[in] = after.TakesMains()
	}
}

// likely is the way forward, so that a walk comes far.
func (w *walk) likely(m *stock.Machine) string {
	switch m.Stage {
	case registry.Logged:
		return "refurbish"
	case registry.Queued:
		return "bench start"
	case registry.Bench:
		return pick(w.dice, "bench finish", "bench finish", "fit")
	case registry.Check:
		if m.TakesMains() && !m.SafetyAt.IsZero() {
			return pick(w.dice, "test pass", "test pass", "clean and look")
		}
		return pick(w.dice, "look", "safety pass", "test pass", "test pass", "convert away")
	case registry.Ready:
		return pick(w.dice, "reserve", "reserve", "sale", "hand over")
	case registry.Reserved:
		return pick(w.dice, "kit", "pack", "pack", "work done", "safety pass with its plug")
	case registry.Packed:
		return pick(w.dice, "ship", "unpack")
	case registry.Held:
		return pick(w.dice, "release", "safety pass")
	}
	return "hand over"
}

// do tries one thing. lost says that it is one after which nothing on the machine may take the mains any
// more.
func (w *walk) do(does, in string, h *house.Workshop, by registry.Initials, m *stock.Machine,
	k *truth) (lost bool,
	err error) {
	tag := m.Tag
	slip := by == k.by && w.now.Sub(k.logged) <= 10*time.Minute && !k.touched
	switch does {
	case "log":
		w.log(in)
	case "refurbish":
		_, err = h.Triage(ctx, by, tag, "refurbish", "complete", "MB")
	case "sale":
		_, err = h.Triage(ctx, by, tag, "sale", "wanted", "MB")
	case "bench start":
		if _, err = h.BenchStart(ctx, by, tag, bench.WorkNote{}); err == nil {
			k.visit = &visit{by, w.now, k.pass[in]}
			k.pause(in)
		}
	case "bench oil":
		if _, err = h.BenchNote(ctx, by, tag, bench.WorkNote{Note: "oiled"}); err == nil {
			k.visit = nil
			k.pause(in)
		}
	case "look", "clean and look":
		if does != "look" {
			if _, err = h.BenchStart(ctx, "QX", tag, bench.WorkNote{}); err != nil {
				return false, err
			}
			k.visit, by = nil, "EL"
			k.pause(in)
			_, err = h.BenchFinish(ctx, "QX", tag, bench.WorkNote{Note: "oiled"})
			require.NoError(w, err)
		}
		if _, _, err = h.LookAlone(ctx, by, tag, electrical.SafetyForm{Visual: "pass"}); err == nil {
			at, made := k.paused[in]
			w.holds(made && by == "EL", string(tag)+" has a pass back by a look that nothing allows")
			k.voided(in)
			k.pass[in] = at
		}
	case "bench note":
		if _, err = h.BenchNote(ctx, by, tag, bench.WorkNote{Note: "new cord and plug fitted"}); err == nil {
			k.visit = nil
			k.voided(in)
		}
	case "bench finish":
		if _, err = h.BenchFinish(ctx, by, tag, bench.WorkNote{}); err == nil {
			k.visit = nil
		}
	case "fit", "take":
		part := pick(w.dice, "motor", "cord", "lamp", "handwheel", "foot-control")
		if does == "fit" {
			_, _, err = h.FitSpare(ctx, by, tag, spares.PartUse{Part: part, Bought: true})
		} else {
			_, _, err = h.TakeSpare(ctx, by, tag, part, "")
		}
		if err == nil {
			k.voided(in)
		}
	case "test pass":
		if _, _, err = h.Test(ctx, by, tag, bench.TestForm{PassAll: true}); err == nil {
			k.touched = true
		}
	case "test fail":
		fail := bench.TestForm{PassAll: true, Fail: map[string]string{"tension": "loops"},
			Danger: w.dice.IntN(2) == 0}
		if _, _, err = h.Test(ctx, by, tag, fail); err == nil {
			k.voided(in)
		}
	case "safety pass", "safety pass with its plug":
		form := registrytest.GoodSafety()
		if does != "safety pass" {
			form.Plug = "G"
		}
		var t *bench.SafetyTest
		if _, t, err = h.Safety(ctx, by, tag, form); err == nil {
			k.voided(in)
			if t.Pass {
				k.pass[in] = w.now
			}
		}
	case "safety fail":
		fail := pick(w.dice, registrytest.FailedSafety(),
			electrical.SafetyForm{Class: "II", Visual: "pass", Insulation: "0.4"},
			electrical.SafetyForm{Class: "I", Visual: "pass", Earth: "20"})
		if _, _, err = h.Safety(ctx, by, tag, fail); err == nil {
			k.voided(in)
		}
	case "convert away", "convert away unsure":
		c := spares.Conversion{To: registry.Hand}
		if does == "convert away" {
			c.Off, c.Confirmed = mains.Kinds, pick[registry.Initials](w.dice, "EL", "QX")
		}
		if _, err = h.Convert(ctx, by, tag, c); err == nil {
			lost = cmp.Or(c.Confirmed, by) == "EL" // each part was accounted for
			k.voided(in)
		}
	case "convert to electric":
		if _, err = h.Convert(ctx, by, tag, spares.Conversion{To: registry.Electric}); err == nil {
			k.voided(in)
		}
	case "amend drive":
		to := pick(w.dice, registry.Hand, registry.Electric)
		if _, err = h.Amend(ctx, by, tag, "looked again", func(m *stock.Machine) error {
			m.Drive = to
			return nil
		}); err == nil && to != m.Drive {
			lost = slip
			delete(k.pass, in)
		}
	case "mains":
		said := []stock.PartSaid{}
		state := pick(w.dice, mains.Off, mains.Never, mains.Unknown, mains.Fitted)
		for _, part := range mains.Kinds {
			if w.dice.IntN(4) > 0 {
				said = append(said, stock.PartSaid{Part: part, State: state})
			}
		}
		if _, err = h.SayMains(ctx, by, tag, said); err == nil {
			lost = by == "EL"
			k.touched = true
			if after, err := h.Machine(ctx, tag); err == nil && after.Mains.String() != m.Mains.String() {
				k.voided(in)
			}
		}
	case "hold":
		_, err = h.Hold(ctx, by, tag, "waits")
	case "release":
		_, err = h.Release(ctx, by, tag, "")
	case "reserve":
		var p *planning.Proposal
		if p, err = h.Propose(ctx, nil); err == nil && len(p.Reservations) > 0 {
			err = h.Reserve(ctx, by, "", p.Reservations)
		}
	case "give back":
		_, err = h.ReleaseSets(ctx, by, "ORD1", "", []registry.Tag{tag})
	case "kit":
		_, err = h.PutKit(ctx, by, tag, spares.Leaving{As: m.Drive, Plug: "G"})
	case "work done":
		works, _ := h.ListWork(ctx, "ORD1")
		for _, job := range works {
			if job.Head == tag && job.State == orders.WorkOpen {
				if _, err = h.WorkIsDone(ctx, by, "ORD1", job.ID, 5); err == nil &&
					job.Skill == registry.SkillElectrical && m.Plate.Plug != "G" {
					k.voided(in)
				}
			}
		}
	case "pack":
		_, err = h.Pack(ctx, by, "ORD1", []registry.Tag{tag}, "MB")
	case "unpack":
		_, err = h.Unpack(ctx, by, "ORD1", "look again", []registry.Tag{tag})
	case "ship":
		_, _, err = h.ShipOrder(ctx, by, "ORD1", packing.Delivery{Part: true})
	case "undo":
		lost, err = w.undone(in, by, func() (*undo.Undone, error) { return h.UndoOn(ctx, by, tag) })
	case "undo mine":
		lost, err = w.undone(in, by, func() (*undo.Undone, error) { return h.Undo(ctx, by) })
	case "hand over":
		other := map[string]string{"PM": "EL", "EL": "PM"}[in]
		err = w.handOver(in, other, tag)
	case "import":
		text := fmt.Sprintf("maker,serial,drive\nOstermann,%s,%s\n", m.Serial,
			pick(w.dice, "hand", "electric"))
		if _, err = registrytest.TakeInOr(ctx, h, text, true); err != nil && registry.CodeOf(err) == "" {
			err = registry.Errorf(registry.Invalid, "%v", err)
		}
		if after, e := h.Machine(ctx, tag); err == nil && e == nil && after.Drive != m.Drive {
			delete(k.pass, in)
		}
	case "recall":
		var found *recall.Found
		if found, err = h.Withdraw(ctx, by, recall.Which{Tester: "EL"}, "was taught wrongly"); err != nil {
			break
		}
		for _, k := range w.known {
			k.visit = nil
		}
		for _, one := range found.Here {
			w.known[one.Tag].voided(in)
		}
	case "untested sale":
		if _, err = h.SellUntested(ctx, by, tag, "wanted", "MB"); err == nil {
			w.holds(by == "EL", string(tag)+" is sold untested, and nobody who may said so")
			k.cutOff[in] = true
			k.voided(in)
		}
	case "back up":
		w.backUp(in, h)
	case "restore":
		err = w.restore(in, h)
	default:
		require.Fail(w, does)
	}
	return lost, err
}

// Whatever is done in whatever order, by whomever and at whatever time, nothing that takes the mains is
// offered, promised, packed, shipped, sold or ready without a pass for what is on it now, made in this house.
func TestNothingLeavesUntested(t *testing.T) {
	seeds, steps, first := 24, 400, uint64(0)
	if os.Getenv("NIGHTLY") == "" {
		seeds, steps, first = 1, 260, 0 // a walk that comes by all that is asked for below
	}
	let := map[string]int{}
	for seed := range seeds {
		w := newWalk(t, uint64(seed)+first)
		for range steps {
			w.step()
			w.check()
		}
		for does, n := range w.let {
			let[does] += n
		}
		for _, h := range w.houses {
			registrytest.VerifiesClean(t, h)
		}
	}
	if seeds > 1 {
		assert.Positive(t, let["clean and look"], "no look was ever let through: %v", let)
	}
	for _, does := range []string{"safety pass", "safety fail", "bench start", "test pass", "undo",
		"restore"} {
		assert.Positive(t, let[does], "%s was never let through: %v", does, let)
	}
	t.Logf("let through: %v", let)
}
