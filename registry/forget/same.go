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
// of that: it went on with the machine all the same.
func Unless(known func(*registry.Action) bool, actions []registry.Action,
	changes []registry.Change) []registry.Change {
	return slices.DeleteFunc(changes, func(c registry.Change) bool {
		i := slices.IndexFunc(actions, func(a registry.Action) bool { return a.ID == c.Action })
		return i >= 0 && actions[i].Verb == registry.VerbForget && !known(&actions[i])
	})
}
