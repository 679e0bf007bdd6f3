package exchange

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// A machine moves to another house with all that ever happened to it, and what it is now is what those
// changes replay to: so a house hands over histories, and nothing else. Two histories of one machine are
// compared change by change:
//
//	the house does not know the tag                    the machine is new here: the history is replayed
//	the house knows the beginning of the history       the other house went on with it: the rest is replayed
//	the house knows all of it, or more                 a repeat: nothing changes
//	each house has a change that the other has not     a clash: shown, and nothing of it taken over
//	the rest has a change that was made in this house  a clash: lost here, or another house has its letters
//
// An action keeps its time, its initials, and where it was done (Action.Origin).

// UnitHistory is one machine or base on its way to another house.
type UnitHistory struct {
	Subject string
	Actions []registry.Action // whose changes follow
	Changes []registry.Change // oldest first; Action and Ref are numbers of the house that it comes from
}

// history reads all that happened to a subject.
func history(r stock.Reader, subject string) (*UnitHistory, error) {
	c := &UnitHistory{Subject: subject}
	seen := map[int64]bool{}
	err := r.Changes(subject, func(a *registry.Action, change *registry.Change) error {
		if !seen[a.ID] {
			seen[a.ID] = true
			c.Actions = append(c.Actions, *a)
		}
		c.Changes = append(c.Changes, *change)
		return nil
	})
	return c, err
}

// origin is where an action was done, with its number there. from are the letters of the house that tells of
// it.
func origin(from string, a *registry.Action) string {
	if a.Origin != "" {
		return a.Origin
	}
	return from + "/" + strconv.FormatInt(a.ID, 10)
}

// done are the actions of the history by their number, each with where it was done.
func (c *UnitHistory) done(from string) map[int64]registry.Action {
	all := map[int64]registry.Action{}
	for _, a := range c.Actions {
		a.Origin = origin(from, &a)
		all[a.ID] = a
	}
	return all
}

// action finds an action of the history by its number.
func (c *UnitHistory) action(id int64) *registry.Action {
	i := slices.IndexFunc(c.Actions, func(a registry.Action) bool { return a.ID == id })
	if i < 0 {
		return &registry.Action{}
	}
	return &c.Actions[i]
}

// text is the last value of one of the machine's fields.
func (c *UnitHistory) text(field string) string {
	for i := len(c.Changes) - 1; i >= 0; i-- {
		if v, ok := c.Changes[i].Fields[field]; ok && c.Changes[i].Kind == c.Changes[0].Kind {
			s, _ := v[1].(string)
			return s
		}
	}
	return ""
}

// Check refuses a history that no house wrote: it may come from a file that anybody can have made.
func (c *UnitHistory) Check() error {
	if len(c.Changes) == 0 {
		return registry.Errorf(registry.Invalid, "the bundle has no history for %q: ask for a new one",
			c.Subject)
	}
	unit := c.Changes[0].Kind
	if unit != (&stock.Machine{}).Kind() && unit != (&stock.Base{}).Kind() {
		return registry.Errorf(registry.Invalid,
			"the bundle has a history of %.40q that begins with the kind %.40q, which is no machine or "+
				"base: ask for a new one",
			c.Subject, unit)
	}
	known := map[int64]bool{}
	var latest time.Time
	for _, a := range c.Actions {
		if a.At.After(latest) {
			latest = a.At
		}
		if year := a.At.UTC().Year(); year < firstTime || year > lastTime {
			return registry.Errorf(registry.Invalid,
				"the bundle has an action of the year %d: ask for a new one", year)
		}
		by, err := registry.ParseInitials(string(a.By))
		if err != nil || by != a.By {
			return registry.Errorf(registry.Invalid, "the bundle has an action by %q: ask for a new one",
				a.By)
		}
		if a.Verb == "" {
			return registry.Errorf(registry.Invalid,
				"the bundle has an action by %s that does not say what was done: ask for a new one", a.By)
		}
		for _, text := range []struct{ name, value string }{{"action", a.Verb}, {"why", a.Why}} {
			if clean, err := registry.CleanText(text.name, text.value, registry.MaxNote); err != nil ||
				clean != text.value {
				return registry.Errorf(registry.Invalid, "the bundle has the %s %.60q: ask for a new one",
					text.name, text.value)
			}
		}
		if a.Origin != "" {
			letters, number, _ := strings.Cut(a.Origin, "/")
			if n, err := strconv.ParseInt(number, 10, 64); registry.CheckLetters(letters) != nil ||
				err != nil || n < 1 {
				return registry.Errorf(registry.Invalid,
					"the bundle has an action done in %.40q: ask for a new one", a.Origin)
			}
		}
		known[a.ID] = true
	}
	for _, change := range c.Changes {
		if !known[change.Action] {
			return registry.Errorf(registry.Invalid,
				"the bundle has a change of %s without the action that made it: ask for a new one", c.Subject)
		}
		switch change.Kind {
		case (&stock.Machine{}).Kind(), (&stock.Base{}).Kind():
			if change.Kind != unit {
				return registry.Errorf(registry.Invalid,
					"the bundle has one history for a machine and a base, %s: ask for a new one", c.Subject)
			}
		case (&orders.Order{}).Kind(), (&orders.OrderLine{}).Kind(), (&promise.OrderSet{}).Kind():
			return registry.Errorf(registry.Invalid,
				"the bundle has an order in the history of %s: ask for a new one", c.Subject)
		}
		for name, values := range change.Fields {
			for _, v := range values {
				if s, ok := v.(string); ok {
					clean := registry.CleanText
					if name == "note" || name == "condition" {
						clean = registry.CleanLines
					}
					if _, err := clean(name, s, maxHistoryText); err != nil {
						return err
					}
					at, err := time.Parse(time.RFC3339, s)
					if err == nil && isTime.MatchString(name) && at.After(latest.Add(aheadOfAll)) {
						return registry.Errorf(registry.Invalid, "the bundle has %s %s of %s, later than all that "+
							"was done to it: ask for a new one", name, s, c.Subject)
					}
				}
			}
		}
	}
	return nil
}

// Years between which a clock can have stood, also one that lost its battery.
const (
	firstTime = 1970
	lastTime  = 2999
)

// isTime matches the names of columns that hold the time of something that was done.
var isTime = regexp.MustCompile(`(^|_)(at|since|revives)$`)

// aheadOfAll is how far a time that a history tells of can lie behind its last action: days are told in a
// zone.
const aheadOfAll = 24 * time.Hour

// maxHistoryText is the longest stored text that is taken over; lists and forms are longer than notes.
const maxHistoryText = 20_000
