package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/stock"
)

// asker asks one question a line. Enter alone takes what is offered.
type asker struct {
	ctx context.Context // ends when somebody presses Ctrl-C at a question
	in  *bufio.Scanner
	out io.Writer
}

// asker is the one that reads the answers of a command: a second one would miss what the first has read
// ahead.
func (a *app) asker() *asker {
	if a.asks == nil {
		a.asks = &asker{ctx: a.ctx, in: bufio.NewScanner(a.in), out: a.err}
	}
	return a.asks
}

// line asks once and returns the trimmed answer.
func (q *asker) line(question string) (string, error) {
	fmt.Fprintf(q.out, "%s ", question)
	answer, ok, err := q.next()
	if !ok {
		fmt.Fprintln(q.out)
		if err == nil {
			err = registry.Errorf(registry.Invalid,
				"input ended before the last question: nothing was written, start again")
		}
	}
	return answer, err
}

// next waits for a line and trims it; ok is false when none came, because the input ended or something went
// wrong.
func (q *asker) next() (line string, ok bool, err error) {
	ok, err = meanwhile.Answer(q.ctx, func() (bool, error) { return q.in.Scan(), q.in.Err() })
	if !ok {
		return "", false, err // the input may still be read, so what it holds is left alone
	}
	return strings.TrimSpace(q.in.Text()), true, nil
}

// until asks again, saying why, until take accepts the answer.
func (q *asker) until(question string, take func(answer string) error) error {
	for {
		answer, err := q.line(question)
		if err != nil {
			return err
		}
		if err = take(answer); err == nil {
			return nil
		}
		var refusal *registry.Error
		if !errors.As(err, &refusal) {
			return err
		}
		fmt.Fprintf(q.out, "  %s\n", told(refusal, nil))
	}
}

// yes asks a question whose safe answer is no.
func (q *asker) yes(question string) (bool, error) {
	answer, err := q.line(question + " [y/N]")
	return strings.HasPrefix(strings.ToLower(answer), "y"), err
}

// saysYes and saysNo know the words by which people say that a point is right, or not. They are no fault's
// words: "pass" would hold a machine for the fault "pass".
func saysYes(answer string) bool {
	return slices.Contains([]string{"y", "yes", "ok", "okay", "pass", "passed"}, plainWord(answer))
}

func saysNo(answer string) bool {
	return slices.Contains([]string{"n", "no", "fail", "failed"}, plainWord(answer))
}

func plainWord(answer string) string { return strings.TrimRight(strings.ToLower(answer), ".! ") }

// askMachine asks for what was not given: maker, serial and drive, then what may stay empty.
func (a *app) askMachine(ctx context.Context, d *workplace, m *stock.Machine, again *bool) error {
	q := a.asker()
	makers, err := d.KnownMakers(ctx)
	if err != nil {
		return err
	}
	words := d.Words()
	set := func(name, answer string) error {
		field, _ := stock.FieldNamed(name)
		return field.Set(m, []string{answer})
	}
	if m.Maker == "" {
		if len(makers) > 0 {
			fmt.Fprintf(q.out, "Makers known here: %s\nThe first letters will do.\n",
				strings.Join(makers[:min(len(makers), 12)], ", "))
		}
		err := q.until("Maker?", func(answer string) error {
			switch found := closest(makers, answer); {
			case answer == "":
				return registry.Errorf(registry.Invalid, "type the name on the bed or the badge, or unknown")
			case len(found) == 1:
				answer = found[0]
				fmt.Fprintf(q.out, "  %s\n", answer)
			case len(found) > 1:
				return registry.Errorf(registry.Invalid, "%s: type a few letters more",
					strings.Join(found, ", "))
			default:
				if answer, err = a.settleWord(ctx, q, words, "maker", "", answer); err != nil {
					return err
				}
			}
			return set("maker", answer)
		})
		if err != nil {
			return err
		}
	}
	if err := a.askSerial(ctx, q, d, m, again, set); err != nil {
		return err
	}
	if m.Drive == "" {
		err := q.until("Drive? h hand, t treadle, e electric:", func(answer string) error {
			if found := closest([]string{"hand", "treadle", "electric"}, answer); answer != "" &&
				len(found) == 1 {
				answer = found[0]
			}
			return set("drive", answer)
		})
		if err != nil {
			return err
		}
	}
	for _, name := range []string{"model", "donor", "condition", "place"} {
		field, _ := stock.FieldNamed(name)
		if strings.Join(field.Get(m), "") != "" {
			continue
		}
		question := strings.ToUpper(name[:1]) + name[1:] + "? (Enter to skip)"
		err := q.until(question, func(answer string) error {
			answer, err := a.settleWord(ctx, q, words, name, m.Maker, answer)
			if err != nil {
				return err
			}
			return set(name, answer)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// askSerial asks for the serial number, shows the year at once, and warns of a machine that is here already.
func (a *app) askSerial(ctx context.Context, q *asker, d *workplace, m *stock.Machine, again *bool,
	set func(name, answer string) error) error {
	for {
		if m.Serial == "" {
			err := q.until("Serial? (? for what you can't read, none for no plate):",
				func(answer string) error {
					if answer == "" {
						return registry.Errorf(registry.Invalid,
							"type the number stamped on the bed, or none")
					}
					return set("serial", answer)
				})
			if err != nil {
				return err
			}
		}
		answer, err := d.Date(m)
		if err != nil {
			var refusal *registry.Error
			if !errors.As(err, &refusal) {
				return err
			}
			fmt.Fprintf(q.out, "  %s\n", told(refusal, nil))
			m.Serial = ""
			continue
		}
		for _, line := range answer.Lines() {
			fmt.Fprintf(q.out, "  %s\n", line)
		}
		if *again {
			return nil
		}
		twins, err := d.Twins(ctx, m)
		if err != nil || len(twins) == 0 {
			return err
		}
		fmt.Fprintf(q.out, "  That serial is in the house already, as %s.\n", twins[0].Tag)
		if *again, err = q.yes("Is this another machine?"); err != nil || *again {
			return err
		}
		m.Serial = ""
	}
}
