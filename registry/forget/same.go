package forget

import (
	"reflect"
	"slices"

	"pitman/registry"
)

// A house may have forgotten a name that another one still has: their histories are the same all the same.

// Same says whether two changes tell the same, where neither has forgotten what it told.
func Same(a, b *registry.Change) bool {
	if len(a.Forgotten)+len(b.Forgotten) == 0 || len(a.Fields) != len(b.Fields) {
		return reflect.DeepEqual(a.Fields, b.Fields)
	}
	for name, ours := range a.Fields {
		theirs, ok := b.Fields[name]
		for side := range ours {
			one, isText := ours[side].(string)
			other, areTexts := theirs[side].(string)
			forgot := isText && areTexts && (a.Forgotten[name][side] && one == "" ||
				b.Forgotten[name][side] && other == "")
			if !ok || !forgot && !reflect.DeepEqual(ours[side], theirs[side]) {
				return false
			}
		}
	}
	return true
}

// Unless leaves out of a history what was noted when somebody was forgotten, but where the other house knows
// of that: either went on with the machine all the same. The actions of both are given by their numbers, with
// where each was done as its origin.
func Unless(theirs, ours map[int64]registry.Action, changes []registry.Change) []registry.Change {
	known := map[string]bool{}
	for _, a := range theirs {
		known[a.Origin] = true
	}
	return slices.DeleteFunc(changes, func(c registry.Change) bool {
		a := ours[c.Action]
		return a.Verb == registry.VerbForget && !known[a.Origin]
	})
}
