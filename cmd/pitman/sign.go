package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/pin"
	"pitman/registry/pin/hash"
)

// pinFile names in the environment the file with the PIN of whoever signs.
const pinFile = "PITMAN_PIN_FILE"

// signing lets whatever is to be signed ask for the PIN, whichever command does it.
func (a *app) signing(w *house.Workshop) {
	if a.pinCost != (hash.Cost{}) {
		w.Pins.Cost = a.pinCost
	}
	w.Unsigned = func(who registry.Initials) {
		fmt.Fprintf(a.err, "%s signed without a PIN, since nobody here has one yet: set yours with %s\n", who,
			command(registry.Next(registry.DoSetPIN, "").With("initials", string(who))))
	}
	w.Prove = func(ctx context.Context, refused error) (any, error) {
		var wanted *pin.Wanted
		var proof *pin.Proof
		err := refused
		if errors.As(refused, &wanted) {
			proof, err = a.signature(ctx, w.Pins, wanted.Who, refused)
		} else if who := pin.Unset(refused); who != "" && a.onTerminal() && a.isActor(who) {
			fmt.Fprintf(a.err, "  %v\n", refused)
			proof, err = a.firstPIN(ctx, w.Pins, who)
		}
		if err != nil {
			return nil, err
		}
		return proof, nil
	}
}

// isActor says whether this is who acts: nobody else chooses their first PIN.
func (a *app) isActor(who registry.Initials) bool {
	by, err := a.actor()
	return err == nil && by == who
}

// firstPIN has somebody choose the PIN that they lack, so that nothing is lost of what was typed before, and
// signs with it.
func (a *app) firstPIN(ctx context.Context, pins *pin.Pins, who registry.Initials) (*pin.Proof, error) {
	defer a.unseen()()
	fresh, err := a.askNewPIN(ctx, who)
	if err != nil {
		return nil, err
	}
	if _, err := pins.Set(ctx, who, who, fresh); err != nil {
		return nil, err
	}
	return pins.Give(ctx, who, fresh)
}

// signature is the proof that somebody gave their PIN: from the file that the environment names, or typed.
func (a *app) signature(ctx context.Context, pins *pin.Pins, who registry.Initials,
	refused error) (*pin.Proof, error) {
	if name := a.getenv(pinFile); name != "" {
		typed, err := readPIN(name)
		if err != nil {
			return nil, err
		}
		return a.givePIN(ctx, pins, who, typed)
	}
	if !a.onTerminal() {
		return nil, registry.Errorf(registry.Conflict, "%v: name a file with it in %s, or sign at a terminal",
			refused, pinFile)
	}
	return a.askPIN(ctx, pins, who, "PIN of "+string(who))
}

// askPIN asks until the PIN is right, so that nothing is lost of what was typed before. Enter alone gives up.
func (a *app) askPIN(ctx context.Context, pins *pin.Pins, who registry.Initials,
	question string) (*pin.Proof, error) {
	for {
		proof, err := a.askPINOnce(ctx, pins, who, question)
		var refusal *registry.Error
		if err == nil || !errors.As(err, &refusal) || refusal.Field == gaveUp {
			return proof, err
		}
		fmt.Fprintf(a.err, "  %s\n", told(refusal, nil))
	}
}

// askPINOnce asks, and tries what was typed. Trying takes a moment, and longer after wrong ones: what
// somebody types meanwhile may be the PIN once more, and answers nothing.
func (a *app) askPINOnce(ctx context.Context, pins *pin.Pins, who registry.Initials,
	question string) (*pin.Proof, error) {
	defer a.unseen()()
	typed, err := a.hidden(ctx, question+":")
	if err != nil {
		return nil, err
	}
	if typed == "" {
		return nil, noPIN(who)
	}
	return a.givePIN(ctx, pins, who, typed)
}

// unseen lets nobody see what is typed, where somebody types.
func (a *app) unseen() (end func()) {
	if in, ok := a.in.(*os.File); ok && a.onTerminal() {
		return unseen(in)
	}
	return func() {}
}

// gaveUp is the field of a refusal after which no PIN is asked for.
const gaveUp = "no-pin"

// noPIN says that somebody pressed Enter alone, and what to do next.
func noPIN(who registry.Initials) error {
	return registry.Errorf(registry.Conflict,
		"no PIN was given: nothing was written; do it once more and type "+
			"the PIN of %s, or have a coordinator of the house set another if it is forgotten",
		who).On(gaveUp)
}

// givePIN waits for its turn, which wrong PINs put off, and tries one.
func (a *app) givePIN(ctx context.Context, pins *pin.Pins, who registry.Initials,
	typed string) (*pin.Proof, error) {
	wait, err := pins.Wait(ctx, who)
	if err != nil {
		return nil, err
	}
	if wait > 0 {
		fmt.Fprintf(a.err, "The PIN of %s was wrong before: the next is tried in %v.\n", who,
			wait.Round(time.Second))
		if err := a.sleep(ctx, wait); err != nil {
			return nil, err
		}
	}
	return pins.Give(ctx, who, typed)
}

// readPIN reads the file with a PIN.
func readPIN(name string) (string, error) {
	cannot := func(err error) error {
		return registry.Errorf(registry.Invalid,
			"the file %s, which %s names, cannot be read (%v): name a file with the PIN alone", name, pinFile,
			errors.Unwrap(err))
	}
	f, err := os.Open(name)
	if err != nil {
		return "", cannot(err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, pin.MaxFile+1))
	if err != nil {
		return "", cannot(err)
	}
	return pin.FromFile(text)
}

// hidden asks for what nobody should see on the screen.
func (a *app) hidden(ctx context.Context, question string) (string, error) {
	fmt.Fprint(a.err, question+" ")
	defer fmt.Fprintln(a.err)
	screen := int(a.in.(*os.File).Fd())
	before, err := term.GetState(screen)
	if err != nil {
		return "", err
	}
	text, err := meanwhile.Answer(ctx, func() ([]byte, error) { return term.ReadPassword(screen) })
	switch {
	case ctx.Err() != nil:
		return "", errors.Join(ctx.Err(), term.Restore(screen, before)) // what is typed is shown again
	case errors.Is(err, io.EOF):
		return "", nil
	}
	return string(text), err
}
