package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/lookup"
	"pitman/registry/offers"
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
		if tag := lookup.Meant(d.ctx, d.Store, err); tag != "" {
			likely = " If the label reads " + string(tag) + ", type that."
		}
		d.warn("%s.%s%s", strings.Join(strings.Fields(refusal.Message), " "), likely,
			d.nextKeys(refusal.Next))
	} else {
		d.warn("That did not work (%v). Nothing was written, and what you typed is kept.", err)
	}
	return true
}

// nextKeys says on which keys of which page the steps after a refusal are. What the desk does not do has
// none.
func (d *Desk) nextKeys(next []registry.NextStep) string {
	var tags []registry.Tag
	keys := map[registry.Tag][]string{}
	for _, step := range next {
		key, label := d.keyOf(step)
		if key == 0 {
			continue
		}
		if !slices.Contains(tags, step.Tag) {
			tags = append(tags, step.Tag)
		}
		if said := fmt.Sprintf("%c (%s)", key, label); !slices.Contains(keys[step.Tag], said) {
			keys[step.Tag] = append(keys[step.Tag], said)
		}
	}
	said := ""
	for _, tag := range tags {
		said += fmt.Sprintf(" On the page of %s, press %s.", tag, strings.Join(keys[tag], " or "))
	}
	return said
}

// keyOf is the key of a step on the page of its machine or base, with the label that stands beside it there;
// 0 is none.
func (d *Desk) keyOf(next registry.NextStep) (rune, string) {
	if next.Tag == "" {
		return 0, ""
	}
	if _, err := d.Base(d.ctx, next.Tag); err == nil {
		return keyIn(offers.BaseSteps(), baseKeys(), next.Action)
	}
	return keyIn(offers.HeadSteps(), headKeys(), next.Action)
}

func keyIn[T any](steps []offers.Step, keys map[string]doing[T], action string) (rune, string) {
	s, ok := offers.StepOf(steps, action)
	if !ok {
		return 0, ""
	}
	return keys[s.Name].key, s.Label
}
