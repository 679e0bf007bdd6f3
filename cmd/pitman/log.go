package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/intake"
	"pitman/registry/stock"
)

func (a *app) logCommand() *cobra.Command {
	var typed *fieldFlags[stock.Machine]
	var again, load bool
	var tag string
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Log a machine that came in; asks for what is not given",
		Long: `Takes a machine in, dates it by its serial number and gives it a tag for good.

On a terminal, pitman log asks one question a line and shows the year as soon as the serial is in; then
it goes on with the next machine of the load, whose donor and place stay, until you say n; b takes in
the treadle base that the last one came with. With --load it asks first what a whole van-load has in
common: donor, day, receipt and place; day and receipt go into the note of each machine.
In a script, give at least --maker, --serial and --drive.`,
		Example: `  pitman log --by QX
  pitman log --by QX --load
  pitman log --by QX --maker "Harrow & Finch" --serial K20417 --drive treadle --place "shelf 3"`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var m stock.Machine
			if err := typed.apply(&m); err != nil {
				return err
			}
			if cmd.Flags().Changed("tag") {
				var err error
				if m.Tag, err = registry.ParseTag(tag); err != nil {
					return err
				}
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				if load {
					return a.logLoad(cmd.Context(), d, by, &m)
				}
				return a.logFirst(cmd.Context(), d, by, &m, again)
			})
		},
	}
	typed = addFieldFlags(cmd.Flags(), stock.MachineFields)
	cmd.Flags().BoolVar(&again, "again", false,
		"log it although this maker and serial are in the house already")
	addTagFlag(cmd, &tag)
	cmd.Flags().BoolVar(&load, "load", false,
		"ask first, on a terminal, what a whole van-load has in common")
	return cmd
}

// logFirst logs a machine and, where it was asked for on a terminal, those that came with it.
func (a *app) logFirst(ctx context.Context, d *workplace, by registry.Initials, m *stock.Machine,
	again bool) error {
	if err := settleTyped(ctx, a, d, stock.MachineFields, m); err != nil {
		return err
	}
	asked, hangs := m.Validate() != nil && a.onTerminal(), m.Tag != ""
	if asked {
		if err := a.askMachine(ctx, d, m, &again); err != nil {
			return err
		}
	}
	if err := d.Log(ctx, by, m, again); err != nil {
		return err
	}
	if a.json {
		return a.printMachine(d, m)
	}
	a.printLogged(d, m, hangs)
	if asked {
		return a.logMore(ctx, d, by, m, "")
	}
	return nil
}

// logLoad asks what a van-load has in common, and logs one machine of it after another. What was given counts
// for all of them.
func (a *app) logLoad(ctx context.Context, d *workplace, by registry.Initials, given *stock.Machine) error {
	if !a.onTerminal() || a.json {
		return registry.Errorf(registry.Invalid,
			"load asks its questions on a terminal: in a script, give each "+
				"machine its --donor, --place and --note")
	}
	q, words := a.asker(), d.Words()
	l := intake.Load{Donor: given.Donor, Place: given.Place}
	ask := func(question, field string, into *string, must bool) error {
		if *into != "" {
			return nil
		}
		return q.until(question, func(answer string) error {
			if answer == "" && must {
				return registry.Errorf(registry.Invalid, "type who gave it")
			}
			answer, err := a.settleWord(ctx, q, words, field, "", answer)
			if err != nil {
				return err
			}
			f, _ := stock.FieldNamed(field)
			*into = answer
			return f.Set(&stock.Machine{}, []string{answer})
		})
	}
	if err := ask("Given by?", "donor", &l.Donor, true); err != nil {
		return err
	}
	today := d.LocalDay(d.Now())
	err := q.until(fmt.Sprintf("Came on which day? [%s]", today), func(answer string) (err error) {
		if l.Day = today; answer != "" {
			l.Day, err = d.Intake.LoadDay(answer)
		}
		return err
	})
	if err != nil {
		return err
	}
	err = q.until("Number of the donor's receipt? (Enter if there is none)", func(answer string) error {
		l.Receipt = answer
		f, _ := stock.FieldNamed("note")
		return f.Set(&stock.Machine{}, []string{d.Intake.LoadNote(l)})
	})
	if err != nil {
		return err
	}
	if err := ask("Where will they stand? (Enter to skip)", "place", &l.Place, false); err != nil {
		return err
	}
	note := d.Intake.LoadNote(l)
	if given.Note != "" {
		note = strings.TrimPrefix(note+", "+given.Note, ", ")
	}
	m, again := *given, false
	m.Donor, m.Place, m.Note = l.Donor, l.Place, note
	if err := a.askMachine(ctx, d, &m, &again); err != nil {
		return err
	}
	if err := d.Log(ctx, by, &m, again); err != nil {
		return err
	}
	a.printLogged(d, &m, given.Tag != "")
	return a.logMore(ctx, d, by, &m, note)
}

func (a *app) printLogged(d *workplace, m *stock.Machine, hangs bool) {
	fmt.Fprintf(a.out, "%s  %s, %s, %s\n", m.Tag, machineName(m), m.Year(), m.Drive)
	for _, warning := range d.Warnings(m) {
		fmt.Fprintf(a.out, "  %s\n", warning)
	}
	tieOn(a.out, m.Tag, hangs)
}

// logMore logs the rest of a load: donor and place stay, and the note of its papers; the labels come at the
// end.
func (a *app) logMore(ctx context.Context, d *workplace, by registry.Initials, last *stock.Machine,
	note string) error {
	tags, bases := []string{string(last.Tag)}, 0
	for q := a.asker(); ; {
		fmt.Fprint(q.out,
			"Enter for the next one of this load (its donor and place stay), b for the base that "+
				"this one came with, n when there is none: ")
		answer, ok, err := q.next()
		switch {
		case err != nil:
			return err
		case ok && strings.EqualFold(answer, "b"):
			tag, err := a.logBaseOf(ctx, d, by, last, note)
			if err != nil {
				return err
			}
			tags, bases = append(tags, string(tag)), bases+1
			continue
		case !ok || answer != "":
			fmt.Fprintln(q.out)
			logged := plural(len(tags)-bases, "machine")
			if bases > 0 {
				logged += " and " + plural(bases, "base")
			}
			fmt.Fprintf(q.out, "Logged: %s. Labels for them: pitman label %s -o labels.pdf\n", logged,
				strings.Join(tags, " "))
			return nil
		}
		m, again := stock.Machine{Donor: last.Donor, Place: last.Place, Note: note}, false
		if err := a.askMachine(ctx, d, &m, &again); err != nil {
			return err
		}
		if err := d.Log(ctx, by, &m, again); err != nil {
			return err
		}
		a.printLogged(d, &m, false)
		last, tags = &m, append(tags, string(m.Tag))
	}
}

// logBaseOf takes in the base that a head came with; donor and place are those of the head.
func (a *app) logBaseOf(ctx context.Context, d *workplace, by registry.Initials, head *stock.Machine,
	note string) (registry.Tag, error) {
	q := a.asker()
	b := stock.Base{ArrivedWith: head.Tag, Donor: head.Donor, Place: head.Place, Note: note}
	for _, ask := range [][2]string{
		{"pattern", "What are bases of its shape called here? (Enter to skip)"},
		{"parts", "Are all its parts there? all, or those that are, such as legs,flywheel (Enter: nobody " +
			"looked)"},
		{"condition", "Condition? (Enter to skip)"},
	} {
		f, _ := fields.Named(stock.BaseFields, ask[0])
		err := q.until(ask[1], func(answer string) error {
			said := b
			if answer == "" {
				return nil
			}
			if err := f.Set(&said, []string{answer}); err != nil {
				return err
			}
			if err := d.Intake.CheckBase(&said); err != nil {
				return err
			}
			b = said
			return nil
		})
		if err != nil {
			return "", err
		}
	}
	if err := d.AddBase(ctx, by, &b); err != nil {
		return "", err
	}
	printBaseLogged(a.out, &b, false)
	return b.Tag, nil
}

// addTagFlag takes the blank tag that hangs on what is logged.
func addTagFlag(cmd *cobra.Command, tag *string) {
	cmd.Flags().StringVar(tag, "tag", "",
		"scan the blank `TAG` that hangs on it (else the next one is given)")
}

// tieOn says what comes next, once something has its tag.
func tieOn(w io.Writer, tag registry.Tag, hangs bool) {
	if hangs {
		fmt.Fprintf(w, "%s hangs on it already; the label with its name comes with pitman label --queue.\n",
			tag)
		return
	}
	fmt.Fprintf(w, "Tie a label with %s on it now.\n", tag)
}
