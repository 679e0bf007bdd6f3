package stock

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
)

// OrderSet is one filled place of an order: a head, and for a treadle set the base under it. It stands until it is given back.
type OrderSet struct {
	registry.Row
	Order    string                `json:"order" db:"number"`
	Line     int                   `json:"line" db:"line"`
	Head     registry.Tag          `json:"head" db:"head"`
	Base     registry.Tag          `json:"base" db:"base"` // empty but in a treadle set
	Minutes  int                   `json:"work_minutes" db:"minutes"`
	Work     registry.List[string] `json:"work" db:"work,json"` // what is to be done so that it fits
	Stands   bool                  `json:"-" db:"stands"`
	At       time.Time             `json:"reserved_at" db:"at"`
	By       registry.Initials     `json:"reserved_by" db:"by"`
	PackedAt time.Time             `json:"packed_at,omitzero" db:"packed_at"` // when its last piece was packed
	PackedBy registry.Initials     `json:"packed_by,omitempty" db:"packed_by"`
}

// Kind names the table.
func (*OrderSet) Kind() string { return "order_set" }

// Subject is the order.
func (s *OrderSet) Subject() string { return s.Order }

func (s *OrderSet) Tags() []registry.Tag {
	if s.Base == "" {
		return []registry.Tag{s.Head}
	}
	return []registry.Tag{s.Head, s.Base}
}

// OrderSets lists the filled places of an order, in the order of its lines.
func OrderSets(r Reader, number string) ([]OrderSet, error) {
	sets := []OrderSet{}
	err := r.All(&sets, Fields{"number": number, "stands": true})
	slices.SortStableFunc(sets, func(a, b OrderSet) int { return a.Line - b.Line })
	return sets, err
}

// SetOf finds the place that a head or base fills now.
func SetOf(r Reader, tag registry.Tag) (*OrderSet, error) {
	for _, column := range []string{"head", "base"} {
		var s OrderSet
		err := r.Get(&s, Fields{column: tag, "stands": true})
		if err == nil || registry.CodeOf(err) != registry.NotFound {
			return &s, err
		}
	}
	return nil, registry.Errorf(registry.NotFound, "%s is on no order", tag)
}

// Trouble says what stops a place that was filled, or nothing. Its head can have failed a safety test since it was reserved.
func (s *OrderSet) Trouble(r Reader) (string, error) {
	m, err := MachineByTag(r, s.Head)
	if err != nil || m.Stage != registry.Held {
		return "", err
	}
	why := m.HeldWhy
	if m.UnsafeWhy != "" {
		why = "failed safety test: " + m.UnsafeWhy
	}
	return fmt.Sprintf("%s is held (%s): mend it, or let another take its place", m.Tag, why), nil
}

func OrUnknown(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}

func JoinTags(tags []registry.Tag) string {
	names := make([]string, len(tags))
	for i, tag := range tags {
		names[i] = string(tag)
	}
	return strings.Join(names, " ")
}

// Unpacked lists the pieces of places that are not in their crates yet.
func Unpacked(r Reader, sets []OrderSet) ([]Unit, error) {
	missing := []Unit{}
	for _, s := range sets {
		for _, tag := range s.Tags() {
			u, err := UnitByTag(r, tag)
			if err != nil {
				return nil, err
			}
			if u.Stage != registry.Packed {
				missing = append(missing, u)
			}
		}
	}
	return missing, nil
}
