package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/lookup"
	"pitman/registry/pin/hash"
	"pitman/registry/recall"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// app is what every command shares: where it reads and writes, and the flags of the root command.
type app struct {
	in       io.Reader
	out, err io.Writer
	stdout   io.Writer // as they were given: what kind of screen they are
	stderr   io.Writer
	getenv   func(string) string // the environment; nil is an empty one
	dataDir  string              // the user's data folder
	now      func() time.Time
	ctx      context.Context // of the command that runs
	asks     *asker          // once anything was asked
	pinCost  hash.Cost       // of a new PIN, where it is not the usual one
	// waits for the turn of the next PIN
	sleep func(ctx context.Context, d time.Duration) error

	houseDir string
	by       string
	json     bool

	started bool // the command line was understood; what fails from here on is no wrong usage
}

// Exit statuses.
const (
	exitFailed = 1 // the input or the rules of the house refused it
	exitUsage  = 2 // the command line was not understood
)

// errQuiet is an error whose result is already printed: it only sets the exit status.
var errQuiet = errors.New("failed")

func (a *app) run(ctx context.Context, args []string) int {
	a.ctx = ctx
	a.stdout, a.stderr = a.out, a.err
	out := &plainWriter{w: a.out, width: screenWidth(a.out)}
	a.out, a.err = out, &plainWriter{w: a.err}
	root := a.rootFor(args)
	root.SetArgs(args)
	cmd, err := root.ExecuteContextC(ctx)
	if out.failed != nil {
		err = registry.Errorf(registry.Conflict,
			"the result could not be written (%v): make room where it goes; what the command was to change "+
				"is changed", out.failed)
	}
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errQuiet):
		return exitFailed
	}
	if errors.Is(err, context.Canceled) {
		left := errors.New("nothing was changed")
		if errors.Is(err, stock.ErrTakenBack) {
			left = stock.ErrTakenBack
		}
		err = registry.Errorf(registry.Conflict, "interrupted: %v", left)
	}
	message := told(err, cmd)
	if tag := a.meant(err); tag != "" {
		message += fmt.Sprintf(". If the label reads %s, type that", tag)
	}
	fmt.Fprintf(a.err, "pitman: %s\n", message)
	if !a.started {
		return exitUsage
	}
	return exitFailed
}

// meant is the tag that a person probably misread; a script is told none.
func (a *app) meant(err error) (tag registry.Tag) {
	var refused *registry.Error
	if !errors.As(err, &refused) || len(refused.Meant) == 0 || !a.onTerminal() || a.json {
		return ""
	}
	if len(refused.Meant) == 1 {
		return refused.Meant[0]
	}
	_ = a.with(func(d *workplace) error { // a house that cannot be opened tells none
		tag = lookup.Meant(context.Background(), d.Store, err)
		return nil
	})
	return tag
}

// rootFor is the root with the command that the words call alone, since to make all of them takes longer than
// many a command does. Words that call none of them, such as a call for help, get them all.
func (a *app) rootFor(words []string) *cobra.Command {
	root := a.rootWith(func(name string) bool {
		// the one tells of all others, the other goes on to the desk
		return slices.Contains(words, name) && name != "man" && name != "init"
	})
	if called, _, err := root.Find(words); err == nil && called != root {
		return root
	}
	return a.root()
}

// root is the root with every command.
func (a *app) root() *cobra.Command { return a.rootWith(func(string) bool { return true }) }

func (a *app) rootWith(wanted func(name string) bool) *cobra.Command {
	if a.sleep == nil {
		a.sleep = meanwhile.Sleep
	}
	if a.getenv == nil {
		a.getenv = func(string) string { return "" }
	}
	root := &cobra.Command{
		Use:   "pitman",
		Short: "Registry for a workshop that mends donated sewing machines",
		Long: `pitman keeps a workshop's donated sewing machines: how old each one is, how far its
refurbishment has come, what it was tested for, and where it goes.

New here? One screen for it: pitman desk
Log a machine (as QX):       pitman log --by QX
Find it again by its tag:    pitman show TAG
Just date a serial number:   pitman date SERIAL --maker MAKER`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		PersistentPreRunE: func(cmd *cobra.Command, _ []string) error {
			if err := flagsThatClash(cmd); err != nil {
				return err
			}
			a.started = true
			return nil
		},
	}
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	flags := root.PersistentFlags()
	flags.StringVar(&a.houseDir, "house", "",
		"the house folder `DIR` (else PITMAN_HOUSE, else your data folder)")
	flags.StringVar(&a.by, "by", "", "`INITIALS` of who acts (else PITMAN_BY)")
	flags.BoolVar(&a.json, "json", false, "print the result as JSON")
	for _, c := range a.commands() {
		if wanted(c.name) {
			root.AddCommand(c.make())
		}
	}
	group(root)
	addCompletion(root)
	sayVersion(root)
	root.SetFlagErrorFunc(wrongFlag)
	root.SetHelpCommand(a.helpCommand())
	sayUsage(root)
	a.completeFromHouse(root)
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) {
		if err := a.help(cmd); err != nil {
			fmt.Fprintf(a.err, "pitman: %v\n", err)
		}
	})
	return root
}

// flagsThatClash says in a sentence for a person which flags exclude each other.
func flagsThatClash(cmd *cobra.Command) error {
	err := cmd.ValidateFlagGroups()
	if err == nil {
		return nil
	}
	if _, set, ok := strings.Cut(err.Error(), "; ["); ok {
		if set, ok = strings.CutSuffix(set, "] were all set"); ok {
			return registry.Errorf(registry.Invalid, "--%s do not go together: give one of them",
				strings.ReplaceAll(set, " ", " and --"))
		}
	}
	return err
}

// commandMaker makes the command of a name, once it is called.
type commandMaker struct {
	name string
	make func() *cobra.Command
}

// commands lists every command, in the order of the work.
func (a *app) commands() []commandMaker {
	return []commandMaker{
		{"init", a.initCommand}, {"log", a.logCommand}, {"show", a.showCommand}, {"list", a.listCommand},
		{"history", a.historyCommand},
		{"amend", a.amendCommand}, {"redate", a.redateCommand},
		{"stages", a.stagesCommand}, {"triage", a.triageCommand}, {"hold", a.holdCommand},
		{"release", a.releaseCommand}, {"bench", a.benchCommand},
		{"test", a.testCommand}, {"slip", a.slipCommand},
		{"safety", a.safetyCommand}, {"recall", a.recallCommand}, {"faults", a.faultsCommand},
		{"mains", a.mainsCommand}, {"convert", a.convertCommand},
		{"spare", a.spareCommand}, {"undo", a.undoCommand},
		{"worklist", a.worklistCommand}, {"report", a.reportCommand},
		{"report-back", a.reportBackCommand},
		{"lists", a.listsCommand},
		{"base", a.baseCommand}, {"bed", a.bedCommand}, {"fit", a.fitCommand}, {"move", a.moveCommand},
		{"count", a.countCommand}, {"kit", a.kitCommand},
		{"order", a.orderCommand}, {"partner", a.partnerCommand}, {"shipment", a.shipmentCommand},
		{"match", a.matchCommand}, {"need", a.needCommand},
		{"neighbour", a.neighbourCommand},
		{"takings", a.takingsCommand},
		{"work", a.workCommand},
		{"import", a.importCommand}, {"export", a.exportCommand}, {"bundle", a.bundleCommand},
		{"house", a.houseCommand}, {"man", a.manCommand},
		{"label", a.labelCommand}, {"scheme", a.schemeCommand}, {"people", a.peopleCommand},
		{"date", a.dateCommand}, {"tables", a.tablesCommand},
		{"makers", a.makersCommand},
		{"demo", a.demoCommand},
		{"backup", a.backupCommand}, {"restore", a.restoreCommand}, {"verify", a.verifyCommand},
		{"repair", a.repairCommand}, {"forget", a.forgetCommand},
		{"growth", a.growthCommand},
		{"desk", a.deskCommand}, {"serve", a.serveCommand}, {"phones", a.phonesCommand},
		{"photo", a.photoCommand}, {"plate", a.plateCommand},
		{"story", a.storyCommand},
	}
}

// dir is the house folder: --house, else PITMAN_HOUSE, else the user's data folder.
func (a *app) dir() string {
	if a.houseDir != "" {
		return a.houseDir
	}
	if dir := a.getenv("PITMAN_HOUSE"); dir != "" {
		return dir
	}
	return filepath.Join(a.dataDir, "pitman")
}

// actor is who acts; whatever writes needs to know.
func (a *app) actor() (registry.Initials, error) {
	by := a.by
	if by == "" {
		by = a.getenv("PITMAN_BY")
	}
	if by == "" && a.onTerminal() {
		err := a.asker().until("Who acts? Your initials, such as QX:", func(answer string) error {
			_, err := registry.ParseInitials(answer)
			by = answer
			return err
		})
		if err != nil {
			return "", err
		}
		a.by = by
	}
	if by == "" {
		return "", registry.Errorf(registry.Invalid,
			"who acts is missing: give --by with your initials, such as --by QX, or set PITMAN_BY")
	}
	return registry.ParseInitials(by)
}

// hasActor says whether anybody said who acts.
func (a *app) hasActor() bool { return a.by != "" || a.getenv("PITMAN_BY") != "" }

// workplace is an open house, ready to work in.
type workplace struct {
	*house.Workshop
	house *house.House
	db    *sqlite.DB
}

// with opens the house for fn.
func (a *app) with(fn func(*workplace) error) error {
	return a.withHouse(func(h *house.House) (*sqlite.DB, error) { return h.Registry() }, fn)
}

// withHouse opens the house, and its registry in the way that is asked for.
func (a *app) withHouse(open func(*house.House) (*sqlite.DB, error), fn func(*workplace) error) error {
	h, err := house.Open(a.dir())
	if err != nil {
		return err
	}
	h.Now = a.now
	h.Upgrading = func(backup string) {
		fmt.Fprintf(a.err, "This pitman is newer than the house: the house as it was is kept in %s.\n",
			backup)
	}
	h.Lapsing = func(lapsed []recall.Lapsed) {
		for _, l := range lapsed[:min(len(lapsed), 20)] {
			fmt.Fprintf(a.err, "%s: %s; test it again before anybody plugs it in.\n", l.Tag, l.Why)
		}
		if more := len(lapsed) - 20; more > 0 {
			fmt.Fprintf(a.err, "and %d more: see pitman worklist --for tester\n", more)
		}
	}
	h.TakenBack = func(broken *registry.Action) {
		fmt.Fprintf(a.err, "%s of %s by %s had broken off: what had come in of it is taken back, so do it again.\n",
			broken.Verb, broken.Why, broken.By)
	}
	db, err := open(h)
	if err != nil {
		return err
	}
	h.Tables = a.telling(h.Tables)
	w := h.Workshop(db)
	w.Welcome = func(by registry.Initials) {
		fmt.Fprintf(a.err,
			"%s is new here: welcome. If someone else uses these initials, add a digit to yours.\n", by)
	}
	a.signing(w)
	if halted := h.Halted(); halted != nil {
		fmt.Fprintf(a.err, "pitman: %s\n", told(halted, nil))
	}
	if clock := w.ClockBehind(); clock != "" {
		fmt.Fprintf(a.err, "pitman: %s\n", clock)
	}
	err = fn(&workplace{w, h, db})
	if !db.ReadOnly() {
		h.Note(context.Background(), db)
	}
	return errors.Join(err, db.Close())
}

// withActor opens the house for someone who writes.
func (a *app) withActor(fn func(*workplace, registry.Initials) error) error {
	by, err := a.actor()
	if err != nil {
		return err
	}
	return a.with(func(d *workplace) error { return fn(d, by) })
}
