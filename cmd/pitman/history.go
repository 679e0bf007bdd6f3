package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/kinds"
	"pitman/registry/mains"
	"pitman/registry/measure"
	"pitman/registry/money"
	"pitman/registry/recall"
	"pitman/registry/shipments"
	"pitman/registry/stock"
)

func (a *app) historyCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "history TAG or ORDER",
		Short: "Show what happened to a machine, a base or an order, oldest first",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := kinds.ParseSubject(args[0])
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				var events []registry.Event
				var warnings []string
				err := d.Store.View(cmd.Context(), func(r stock.Reader) (err error) {
					if events, err = r.History(string(tag)); err != nil {
						return err
					}
					var m *stock.Machine
					if numbered, missing := kinds.Numbered(r, tag); numbered {
						err = missing
					} else if m, err = stock.MachineByTag(r, tag); err == nil {
						warnings = d.Warnings(m)
						var why string
						if why, err = recall.Withdrawn(r, m, d.LocalDay); why != "" {
							warnings = append(warnings, "safety pass withdrawn: "+why)
						}
					}
					if len(events) > 0 && registry.CodeOf(err) == registry.NotFound {
						err = nil // a base, or something whose making was undone
					}
					return err
				})
				if err != nil {
					return err
				}
				return a.print(events, func(w io.Writer) {
					for _, warning := range warnings {
						fmt.Fprintf(w, "%s: %s\n", tag, warning)
					}
					if words := goingWords(d.going(tag)); words != "" {
						fmt.Fprintf(w, "%s is on %s\n", tag, words)
					}
					d.printEvents(w, events)
				})
			})
		},
	}
}

// printEvents prints what happened, oldest first.
func (d *workplace) printEvents(w io.Writer, events []registry.Event) {
	for _, e := range events {
		fmt.Fprintf(w, "%s  %s  %s", d.localTime(e.At), e.By.Of(e.House), e.Action)
		if e.Why != "" {
			fmt.Fprintf(w, ": %s", e.Why)
		}
		fmt.Fprintln(w)
		for _, line := range changeLines(e.Changes) {
			fmt.Fprintf(w, "    %s\n", line)
		}
	}
}

// changeLines says for people what changed, record by record; keys that only serve look-ups, and what the
// line above says already, are left out.
func changeLines(changes map[string][2]any) []string {
	type change struct{ record, text string }
	var found []change
	for name, values := range changes {
		record, number, field := "", "", name
		if parts := strings.SplitN(name, ".", 3); len(parts) == 3 { // a record of its own: "work.6.jobs"
			record, number, field = parts[0]+" ", parts[1], parts[2]
			// The paper itself is printed as it was issued, not in a line.
			if slices.Contains([]string{"at", "by", "drive", "did", "number"}, field) ||
				record == "order_paper " && field == "says" {
				continue
			}
		}
		tell := func(format string, args ...any) {
			found = append(found, change{record + number, fmt.Sprintf(format, args...)})
		}
		if field == "tag" || field == "stage_since" || strings.HasSuffix(field, "_key") ||
			strings.HasSuffix(field, "_at") {
			continue
		}
		named, unit := measured(strings.ReplaceAll(field, "_", " "))
		before, after := shownField(field, values[0], unit), shownField(field, values[1], unit)
		name = strings.ReplaceAll(record, "_", " ") + named
		switch {
		case before == "" && after == "":
		case before == "":
			tell("%s: %s", name, after)
		case after == "":
			tell("%s: %s, now empty", name, before)
		default:
			tell("%s: %s → %s", name, before, after)
		}
	}
	slices.SortFunc(found, func(a, b change) int {
		return cmp.Or(cmp.Compare(len(a.record), len(b.record)), cmp.Compare(a.record, b.record),
			cmp.Compare(a.text, b.text))
	})
	lines := make([]string, len(found))
	for i, one := range found {
		lines[i] = one.text
	}
	return lines
}

// shownField writes a stored value with its unit, or as words where it is a record.
func shownField(field string, value any, unit func(any) string) string {
	number, isNumber := value.(float64)
	text, _ := value.(string)
	switch {
	case slices.Contains([]string{"pass", "electrical", "met", "replaced", "struck", "stands"}, field) &&
		isNumber:
		return map[bool]string{true: "yes", false: "no"}[number != 0]
	case field == "plate":
		var plate electrical.Nameplate
		if json.Unmarshal([]byte(text), &plate) == nil {
			return plateWords(plate)
		}
	case field == "mains":
		var parts mains.Parts
		if json.Unmarshal([]byte(text), &parts) == nil {
			return parts.String()
		}
	case field == "points":
		var points []bench.PointResult
		if json.Unmarshal([]byte(text), &points) == nil {
			return pointWords(points)
		}
	case field == "limits":
		var limits []electrical.Limit
		if json.Unmarshal([]byte(text), &limits) == nil {
			return limitWords(limits)
		}
	case field == "orders":
		var on []shipments.OnBoard
		if json.Unmarshal([]byte(text), &on) == nil {
			return onBoardWords(on)
		}
	case field == "form" && strings.HasPrefix(text, "{"):
		return "" // the form of a safety test; pitman history --json has it
	}
	return unit(value)
}

func pointWords(points []bench.PointResult) string {
	var faults, more []string
	for _, p := range points {
		switch {
		case !p.Pass:
			faults = append(faults, p.Point+" ("+p.Fault+")")
		case p.NotApplicable != "":
			more = append(more, p.Point+" n/a ("+p.NotApplicable+")")
		case p.NotMeasured:
			more = append(more, p.Point+" not measured")
		}
		for _, stitch := range p.Measured() {
			more = append(more, stitch.Said())
		}
	}
	said := strings.Join(faults, ", ")
	if len(faults) == 0 {
		passed := 0
		for _, p := range points {
			if p.NotApplicable == "" {
				passed++
			}
		}
		said = plural(passed, "point") + " passed"
	}
	return strings.Join(append([]string{said}, more...), "; ")
}

func limitWords(limits []electrical.Limit) string {
	var words []string
	for _, l := range limits {
		words = append(words, fmt.Sprintf("%s %s (%s %v)", l.What, l.Said(), l.Bound, l.Limit))
	}
	return strings.Join(words, ", ")
}

// measured finds out what unit a column is stored in, by its name, and how people read it.
func measured(name string) (string, func(any) string) {
	if bare, ok := strings.CutSuffix(name, " um"); ok {
		return bare, func(v any) string {
			return shownAs(v,
				func(n float64) string { return measure.Length(n).String() })
		}
	}
	if bare, ok := strings.CutSuffix(name, " g"); ok || name == "weight" {
		return bare, func(v any) string {
			return shownAs(v,
				func(n float64) string { return measure.Mass(n).String() })
		}
	}
	if bare, ok := strings.CutSuffix(name, " hundredths"); ok {
		return bare, func(v any) string {
			return shownAs(v, func(n float64) string { return money.Amount(n).String() })
		}
	}
	return name, shown
}

func shownAs(value any, unit func(float64) string) string {
	n, ok := value.(float64)
	switch {
	case !ok:
		return shown(value)
	case n == 0:
		return "" // not measured
	}
	return unit(n)
}

func shown(value any) string {
	switch v := value.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case string:
		var list []any
		if strings.HasPrefix(v, "[") && json.Unmarshal([]byte(v), &list) == nil {
			words := make([]string, len(list))
			for i, one := range list {
				words[i] = shown(one)
			}
			return strings.Join(words, ", ")
		}
		return v
	}
	return fmt.Sprint(value)
}
