package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// pointAsker asks the points of a function test one after another, and shows all of it before it is recorded.
type pointAsker struct {
	*asker
	d      *workplace
	m      *stock.Machine
	points []bench.TestPoint
	form   *bench.TestForm
}

const pointHelp = "Enter or y passes a point, but y alone one that is measured and was not. Words are its " +
	"fault, and n asks for them. n/a is for what " +
	"this machine does without, and asks why. back goes to the point before. Nothing is recorded before " +
	"you saw all of it."

// pointBefore is typed to go to the question before.
const pointBefore = "back"

// askPoints asks each point in turn; a refusal comes before the first question, not after the last.
func (a *app) askPoints(ctx context.Context, d *workplace, by registry.Initials, tag registry.Tag,
	form *bench.TestForm) error {
	m, err := d.MayTest(ctx, by, tag)
	if err != nil {
		return err
	}
	points, err := d.PointsFor(m)
	if err != nil {
		return err
	}
	q := &pointAsker{a.asker(), d, m, points, form}
	fmt.Fprintf(q.out, "%s  %s, %s\n! %s\n! %s\nEnter passes a point; words are its fault; ? helps.\n", m.Tag,
		machineName(m), m.Drive, registry.CautionNeedle.Text(), registry.CautionMoving.Text())
	if err := q.from(0); err != nil {
		return err
	}
	return q.review()
}

// from asks all points from one on.
func (q *pointAsker) from(i int) error {
	for i < len(q.points) {
		on, err := q.ask(q.points[i])
		if err != nil {
			return err
		}
		if on {
			i++
		} else {
			i = max(i-1, 0)
		}
	}
	return nil
}

// forget takes the answer to a point back.
func (q *pointAsker) forget(p bench.TestPoint) {
	q.form.Pass = slices.DeleteFunc(q.form.Pass, func(name string) bool { return name == p.Point })
	delete(q.form.Fail, p.Point)
	delete(q.form.Lacks, p.Point)
	if p.Measured == bench.MeasuredStitch {
		q.form.Stitch, q.form.Seams = nil, nil
	}
}

// ask asks one point until it is answered; on is false when somebody wants to go back.
func (q *pointAsker) ask(p bench.TestPoint) (on bool, err error) {
	q.forget(p)
	if p.Measured == bench.MeasuredStitch {
		check, on, err := q.stitch(p.Ask)
		if err != nil || !on {
			return on, err
		}
		if q.form.Stitch = check; check != nil {
			return true, nil
		}
	}
	for {
		answer, err := q.line(p.Ask)
		if err != nil {
			return false, err
		}
		if answer == "" && p.Measured != "" { // two empty lines are no look at a seam
			fmt.Fprintln(q.out,
				"  nothing was measured: y if it is right all the same, or words for its fault")
			continue
		}
		switch said := strings.ToLower(answer); {
		case said == "", saysYes(said):
			q.form.Pass = append(q.form.Pass, p.Point)
			return true, nil
		case said == "?":
			fmt.Fprintf(q.out, "  %s\n", pointHelp)
		case said == pointBefore:
			return false, nil
		case saysNo(said):
			return q.words("  What is wrong?", "say it in a few words, such as loops below", p, q.form.Fail)
		case said == measure.NotApplicable, said == "na":
			if p.MayLack {
				return q.words("  Why does it not apply?", "say it in a few words, such as made without one",
					p,
					q.form.Lacks)
			}
			fmt.Fprintln(q.out, "  every such machine has it: Enter if it is right, or words for its fault")
		default:
			q.form.Fail[p.Point] = answer
			return true, nil
		}
	}
}

// words asks for the words to an answer.
func (q *pointAsker) words(question, example string, p bench.TestPoint, to map[string]string) (on bool,
	err error) {
	err = q.until(question, func(answer string) error {
		switch on = answer != pointBefore; {
		case !on:
			return nil
		case answer == "" || answer == "?":
			return registry.Errorf(registry.Invalid, "%s", example)
		}
		to[p.Point] = answer
		return nil
	})
	if err == nil && !on {
		return q.ask(p)
	}
	return on, err
}

// stitch asks for the measured seam; Enter goes on without measuring, which gives none.
func (q *pointAsker) stitch(question string) (check *measure.StitchCheck, on bool, err error) {
	fmt.Fprintln(q.out, question)
	var ruler, dial string
	var count int
	steps := []struct {
		ask, help string
		take      func(answer string) error
	}{
		{"  Length of seam? (such as 50 mm; Enter if not measured)",
			"sew a seam, lay a ruler beside it and choose a length of it",
			func(answer string) (err error) {
				if ruler = answer; answer != "" {
					_, err = measure.ParseLength("seam", answer)
				}
				return err
			}},
		{"  Stitches counted in it?", "count the stitches that lie in that length",
			func(answer string) (err error) {
				count, err = measure.ParseCount(answer)
				return err
			}},
		{"  What does the dial say? (2.5, or 10 per inch, or none)",
			"old dials often count stitches to the inch: a higher figure is then a shorter stitch",
			func(answer string) error {
				dial = answer
				_, err := measure.ParseDial(answer)
				return err
			}},
		{"  Other settings, or in reverse? (4 = 50 mm / 12; r 2.5 = 50 mm / 20; Enter if no more)",
			"what the dial says = the length / the stitches in it; r before it if it was sewn backwards; " +
				"several with ; between",
			func(answer string) (err error) {
				q.form.Seams, err = measure.ParseSeams(answer)
				return err
			}},
	}
	for i := 0; i < len(steps); {
		goBack := false
		err := q.until(steps[i].ask, func(answer string) error {
			switch goBack = answer == pointBefore; {
			case goBack:
				return nil
			case answer == "?":
				return registry.Errorf(registry.Invalid, "%s", steps[i].help)
			}
			return steps[i].take(answer)
		})
		switch {
		case err != nil:
			return nil, false, err
		case goBack && i == 0:
			return nil, false, nil
		case goBack:
			i--
		case i == 0 && ruler == "":
			return nil, true, nil
		default:
			i++
		}
	}
	check, err = stitchCheck(ruler, count, dial)
	return check, true, err
}

// review shows what was answered, and goes on once somebody says that it is right. Enter says nothing: one
// held down would sign for a machine that nobody looked at.
func (q *pointAsker) review() error {
	for {
		faults, err := q.show()
		if err != nil {
			return err
		}
		q.form.Danger = false
		if faults > 0 && q.m.TakesMains() {
			if q.form.Danger, err = q.yes(bench.AskDanger); err != nil {
				return err
			}
		}
		answer, err := q.line("y records it; back, or the name of a point, asks again:")
		if err != nil {
			return err
		}
		switch i := slices.IndexFunc(q.points,
			func(p bench.TestPoint) bool { return p.Point == pointName(answer) }); {
		case answer == "":
			fmt.Fprintln(q.out, "  Enter alone records nothing: read it, then type y")
		case strings.EqualFold(answer, "y"), strings.EqualFold(answer, "yes"):
			return nil
		case strings.EqualFold(answer, pointBefore):
			if err := q.from(len(q.points) - 1); err != nil {
				return err
			}
		case i >= 0:
			if _, err := q.ask(q.points[i]); err != nil {
				return err
			}
			if !q.answered(q.points[i]) { // back was typed there
				if err := q.from(i); err != nil {
					return err
				}
			}
		default:
			fmt.Fprintf(q.out, "  %q is none of the points: %s\n", answer, strings.Join(q.names(), ", "))
		}
	}
}

func (q *pointAsker) answered(p bench.TestPoint) bool {
	_, fails := q.form.Fail[p.Point]
	_, lacks := q.form.Lacks[p.Point]
	return fails || lacks || slices.Contains(q.form.Pass, p.Point) ||
		p.Measured == bench.MeasuredStitch && q.form.Stitch != nil
}

func (q *pointAsker) names() []string {
	names := make([]string, len(q.points))
	for i, p := range q.points {
		names[i] = p.Point
	}
	return names
}

// show lists what is no plain pass, and counts the faults.
func (q *pointAsker) show() (faults int, err error) {
	fmt.Fprintf(q.out, "%s answered:\n", plural(len(q.points), "point"))
	for _, p := range q.points {
		fault, why := q.form.Fail[p.Point], q.form.Lacks[p.Point]
		if p.Measured == bench.MeasuredStitch && q.form.Stitch != nil {
			all, off, err := q.d.JudgeStitches(*q.form)
			if err != nil {
				return 0, err
			}
			for _, got := range all {
				fmt.Fprintf(q.out, "  %s\n", got.Said())
			}
			fault = strings.TrimPrefix(fault+"; "+off, "; ")
			fault = strings.TrimSuffix(fault, "; ")
		}
		switch {
		case fault != "":
			faults++
			fmt.Fprintf(q.out, "  fault  %s: %s\n", p.Point, fault)
		case why != "":
			fmt.Fprintf(q.out, "  n/a    %s: %s\n", p.Point, why)
		}
	}
	if faults == 0 {
		fmt.Fprintln(q.out, "  no fault")
	}
	return faults, nil
}
