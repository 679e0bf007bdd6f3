package pin_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/mains"
	"pitman/registry/pin"
	"pitman/registry/pin/hash"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

var ctx = context.Background()

// workshop has a clock that a test sets, and PINs that are worked out in no time.
func workshop(t testing.TB) (*house.Workshop, *time.Time) {
	w := registrytest.OrderWorkshop(t)
	now := time.Date(2031, 5, 4, 9, 30, 0, 0, time.UTC)
	w.Stock.Now = func() time.Time { return now }
	w.Pins.Cost = hash.Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}
	w.Config.Safety.Competent = []string{"EL", "RS"}
	w.Config.House.Coordinators = []string{"KC"}
	return w, &now
}

func electric(t testing.TB, w *house.Workshop) registry.Tag {
	m := &stock.Machine{Maker: "Ostermann", Drive: registry.Electric, Stage: registry.Check}
	registrytest.InHand(t, w, m)
	return m.Tag
}

func set(t testing.TB, w *house.Workshop, who registry.Initials, typed string) {
	_, err := w.Pins.Set(ctx, who, who, typed)
	require.NoError(t, err)
}

// signed is a context in which this person has given their PIN.
func signed(t testing.TB, w *house.Workshop, who registry.Initials, typed string) context.Context {
	proof, err := w.Give(ctx, who, typed)
	require.NoError(t, err)
	return stock.WithProof(ctx, proof)
}

// What a person signs is refused without a PIN, and nothing is left of it; what stops a machine never is.
func TestWhatIsSigned(t *testing.T) {
	off := spares.Conversion{To: registry.Hand, Off: mains.Kinds}
	for name, do := range map[string]func(context.Context, *house.Workshop, registry.Tag) error{
		"a safety pass": func(ctx context.Context, w *house.Workshop, tag registry.Tag) error {
			_, _, err := w.Safety(ctx, "EL", tag, registrytest.GoodSafety())
			return err
		},
		"that nothing takes the mains any more": func(ctx context.Context, w *house.Workshop,
			tag registry.Tag) error {
			_, err := w.Convert(ctx, "EL", tag, off)
			return err
		},
		"an untested sale": func(ctx context.Context, w *house.Workshop, tag registry.Tag) error {
			_, err := w.SellUntested(ctx, "EL", tag, "too worn", "")
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			w, now := workshop(t)
			tag := electric(t, w)
			before, err := w.Machine(ctx, tag)
			require.NoError(t, err)
			set(t, w, "EL", "482911")
			set(t, w, "RS", "482911")

			var wanted *pin.Wanted
			require.ErrorAs(t, do(ctx, w, tag), &wanted)
			assert.Equal(t, registry.Initials("EL"), wanted.Who)
			assert.ErrorContains(t, wanted, name+" is signed by EL with a PIN, which was not given")
			require.ErrorAs(t, do(signed(t, w, "RS", "482911"), w, tag), &wanted, "the same PIN of another")
			good := signed(t, w, "EL", "482911")
			*now = now.Add(-time.Second)
			require.ErrorAs(t, do(good, w, tag), &wanted, "the clock went back behind it")
			*now = now.Add(time.Second + pin.Life)
			require.ErrorAs(t, do(good, w, tag), &wanted, "it was given long ago")
			*now = now.Add(-time.Nanosecond)
			set := signed(t, w, "EL", "482911")
			_, err = w.Pins.Set(set, "EL", "EL", "771204")
			require.NoError(t, err)
			require.ErrorAs(t, do(set, w, tag), &wanted, "the PIN is another now")

			after, err := w.Machine(ctx, tag)
			require.NoError(t, err)
			assert.Equal(t, before, after)
			require.NoError(t, do(signed(t, w, "EL", "771204"), w, tag))
		})
	}
	w, _ := workshop(t)
	tag := electric(t, w)
	set(t, w, "EL", "482911")
	_, _, err := w.Safety(ctx, "RS", tag, registrytest.FailedSafety())
	require.NoError(t, err, "a fail")
	_, err = w.Hold(ctx, "RS", electric(t, w), "rain")
	require.NoError(t, err, "a hold")
}

// Once anybody has a PIN whoever has none signs nothing; over a network so it is before. Where the house does
// without, nobody is asked.
func TestWhoHasNone(t *testing.T) {
	w, _ := workshop(t)
	var told []registry.Initials
	w.Unsigned = func(who registry.Initials) { told = append(told, who) }
	pass := func(ctx context.Context) error {
		_, _, err := w.Safety(ctx, "EL", electric(t, w), registrytest.GoodSafety())
		return err
	}
	require.NoError(t, pass(ctx))
	assert.Equal(t, []registry.Initials{"EL"}, told)
	require.ErrorContains(t, pass(pin.Always(ctx)), "EL has no PIN")
	set(t, w, "KC", "482911")
	require.ErrorContains(t, pass(ctx),
		"EL has no PIN, and a safety pass is signed with one here: EL sets it first")
	w.Config.Safety.WithoutPIN = true
	require.NoError(t, pass(ctx))
	require.ErrorContains(t, pass(pin.Always(ctx)), "EL has no PIN")
	assert.Len(t, told, 1)
}

// The wait doubles with each wrong PIN up to half a minute, for one that is right as well, and is over after
// it, whatever the clock does meanwhile.
func TestWrongOnesSlowDown(t *testing.T) {
	w, now := workshop(t)
	set(t, w, "EL", "482911")
	tries := func(typed string) error {
		_, err := w.Give(ctx, "EL", typed)
		return err
	}
	for _, seconds := range []int{1, 2, 4, 8, 16, 30, 30, 30} {
		require.ErrorContains(t, tries("000000"), "that is not the PIN of EL")
		wait := time.Duration(seconds) * time.Second
		*now = now.Add(wait - time.Millisecond)
		require.ErrorContains(t, tries("482911"), "try again in 1 s")
		left, err := w.Wait(ctx, "EL")
		require.NoError(t, err)
		assert.Equal(t, time.Millisecond, left)
		*now = now.Add(time.Millisecond)
	}
	require.ErrorContains(t, tries("000000"), "that is not the PIN of EL")
	*now = now.AddDate(-5, 0, 0)
	require.ErrorContains(t, tries("482911"), "try again in 30 s", "nobody is locked out for years")
	*now = now.Add(30 * time.Second)
	require.NoError(t, tries("482911"))
	require.NoError(t, tries("482911"), "a right one ends it")

	var events []registry.Event
	require.NoError(t, w.Store.View(ctx, func(r stock.Reader) (err error) {
		events, err = r.History(pin.SubjectOf("EL"))
		return err
	}))
	var verbs []string
	for _, e := range events {
		verbs = append(verbs, e.Action)
	}
	assert.Equal(t, append([]string{"PIN set"}, strings.Split(strings.Repeat("wrong PIN,", 9), ",")[:9]...),
		verbs)
}

// A turn that is broken off counts as a wrong one, so nothing is won by trying many at once.
func TestTryingAtOnce(t *testing.T) {
	w, _ := workshop(t)
	set(t, w, "EL", "482911")
	results := make(chan error, 20)
	for range cap(results) {
		go func() {
			_, err := w.Give(ctx, "EL", "000000")
			results <- err
		}()
	}
	tried := 0
	for range cap(results) {
		if err := <-results; strings.Contains(err.Error(), "that is not the PIN") {
			tried++
		}
	}
	assert.Equal(t, 1, tried)
}

// Everybody sets their first themselves; another asks for the present one, or for that of a coordinator.
func TestWhoMaySet(t *testing.T) {
	w, _ := workshop(t)
	_, err := w.Pins.Set(ctx, "RS", "EL", "482911")
	require.ErrorContains(t, err, "the PIN of EL is set by EL, or by a coordinator of the house (named: KC)")
	_, err = w.Pins.Set(ctx, "KC", "EL", "482911")
	require.ErrorContains(t, err, "KC has no PIN")
	set(t, w, "EL", "482911")
	_, err = w.Pins.Set(ctx, "EL", "EL", "771204")
	require.ErrorContains(t, err, "a new PIN is signed by EL with a PIN, which was not given")
	set(t, w, "KC", "a long one, with spaces")
	_, err = w.Pins.Set(ctx, "KC", "EL", "771204")
	require.ErrorContains(t, err, "a new PIN is signed by KC")
	_, err = w.Pins.Set(signed(t, w, "EL", "482911"), "KC", "EL", "771204")
	require.ErrorContains(t, err, "a new PIN is signed by KC", "that of whom it is")
	rec, err := w.Pins.Set(signed(t, w, "KC", "a long one, with spaces"), "KC", "EL", "771204")
	require.NoError(t, err)
	assert.Equal(t, registry.Initials("KC"), rec.SetBy)
	_, err = w.Give(ctx, "EL", "771204")
	require.NoError(t, err)

	_, err = w.Pins.Set(ctx, "TV", "TV", "123")
	require.ErrorContains(t, err, "3 characters")
	has, err := w.Has(ctx, "TV")
	require.NoError(t, err)
	assert.False(t, has)
}

// A front end that is asked for the proof gives it in the middle of the action, which is then done once.
func TestProveGoesOnWithTheAction(t *testing.T) {
	w, _ := workshop(t)
	set(t, w, "EL", "482911")
	asked := 0
	w.Prove = func(ctx context.Context, refused error) (any, error) {
		var wanted *pin.Wanted
		if !errors.As(refused, &wanted) {
			return nil, refused
		}
		asked++
		return w.Give(ctx, wanted.Who, "482911")
	}
	_, tests, err := w.Safety(ctx, "EL", electric(t, w), registrytest.GoodSafety())
	require.NoError(t, err)
	assert.True(t, tests.Pass)
	_, _, err = w.Safety(ctx, "EL", electric(t, w), electrical.SafetyForm{})
	require.Error(t, err)
	assert.Equal(t, 1, asked, "only what is to be signed is shown to anybody")
}

// A PIN signs for a quarter of an hour, and for no moment of another time.
func TestHowLongAPINSigns(t *testing.T) {
	w, now := workshop(t)
	set(t, w, "EL", "482911")
	given := *now
	proof, err := w.Give(ctx, "EL", "482911")
	require.NoError(t, err)
	for after, good := range map[time.Duration]bool{0: true, pin.Life - time.Nanosecond: true,
		pin.Life:         false,
		-time.Nanosecond: false, 24 * time.Hour: false} {
		assert.Equal(t, good, proof.Good("EL", given.Add(after)), after)
		assert.False(t, proof.Good("RS", given.Add(after)), "of another")
	}
}
