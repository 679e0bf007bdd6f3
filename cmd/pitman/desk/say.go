package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
)

// say shows what the last key brought about.
func (d *Desk) say(format string, args ...any) {
	d.message, d.caution = fmt.Sprintf(format, args...), false
}

// warn shows it where a person must not overlook it.
func (d *Desk) warn(format string, args ...any) {
	d.message, d.caution = fmt.Sprintf(format, args...), true
}

// refuse shows why something was not done. It says whether there was anything to refuse.
func (d *Desk) refuse(err error) bool {
	if err == nil {
		return false
	}
	var refusal *registry.Error
	if errors.As(err, &refusal) {
		likely := ""
		if refusal.Meant != "" {
			likely = " If the label reads " + string(refusal.Meant) + ", type that."
		}
		d.warn("%s.%s%s", strings.Join(strings.Fields(refusal.Message), " "), likely,
			d.nextKeys(refusal.Next))
	} else {
		d.warn("That did not work (%v). Nothing was written, and what you typed is kept.", err)
	}
	return true
}

// always are the keys of a machine's and of a base's page that no move of the table stands behind.
var always = map[string]rune{registry.DoAmend: 'c', registry.DoAmendBase: 'o', registry.DoMove: 'm',
	registry.DoUndo: 'u'}

// nextKeys says on which keys the steps after a refusal are. What the desk does not do has none.
func (d *Desk) nextKeys(next []registry.NextStep) string {
	var keys []string
	for _, step := range next {
		key, label := d.keyOf(step)
		if key == 0 {
			continue
		}
		said := fmt.Sprintf("%c", key)
		if label != "" {
			said += " (" + label + ")"
		}
		if !slices.Contains(keys, said) {
			keys = append(keys, said)
		}
	}
	if len(keys) == 0 {
		return ""
	}
	return fmt.Sprintf(" On the page of %s, press %s.", next[0].Tag, strings.Join(keys, " or "))
}

// keyOf is the key of a step on the page of its machine or base, with the label that stands beside it there;
// 0 is none.
func (d *Desk) keyOf(next registry.NextStep) (rune, string) {
	if next.Tag == "" {
		return 0, ""
	}
	if key := always[next.Action]; key != 0 {
		return key, ""
	}
	if b, err := d.Base(d.ctx, next.Tag); err == nil {
		for _, s := range baseSteps(d, b) {
			if s.action == next.Action {
				return s.key, s.label
			}
		}
		return 0, ""
	}
	for _, s := range steps() {
		if slices.Contains(s.actions, next.Action) || s.key == otherKeys[next.Action] {
			return s.key, s.label
		}
	}
	return 0, ""
}

// otherKeys are steps of the registry that begin on the key of a move, before anybody knows how it will end.
var otherKeys = map[string]rune{registry.DoSafetyResult: 'e', registry.DoTestResult: 't',
	"a failed function test": 't',
	"a failed safety test":   'e', registry.DoBought: 'f'}
