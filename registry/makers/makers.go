// Package makers keeps the names that people type again and again, makers' above all: which typed one is
// probably another that is known, and two spellings of a maker made into one.
package makers

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/intake"
	"pitman/registry/near"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/serials"
	"pitman/serials/names"
)

// Makers is the room for the names of makers.
type Makers struct {
	*stock.Stock
	Intake *intake.Intake // whose tables they are, and how a machine is dated under another name
}

// HintFrom says what to ask of a name where these makers are known, and those of the tables.
func HintFrom(tables *serials.Tables, known []string) func(typed string) (Hint, bool) {
	known = append(tables.Makers(), known...) // of two that are as near, the one of the tables
	keys := map[string]bool{names.MakerKey("unknown"): true}
	for _, name := range known {
		keys[names.MakerKey(name)] = true
	}
	return func(typed string) (Hint, bool) {
		key := names.MakerKey(typed)
		if badge := tables.SharedBy(typed); len(badge) > 0 {
			return Hint{Field: "maker", Typed: typed, Badge: badge}, true
		}
		if key == "" || keys[key] || tables.Knows(typed) {
			return Hint{}, false
		}
		like := likeMaker(known, typed)
		return Hint{Field: "maker", Typed: typed, Near: like}, like != ""
	}
}

// likeMaker is the known maker that a name is a slip away from, as it is written or without "and" and "Co.".
func likeMaker(known []string, typed string) string {
	if like := near.Name(known, typed); like != "" {
		return like
	}
	byKey := map[string]string{}
	var keys []string
	for _, name := range known {
		key := names.MakerKey(name)
		byKey[key] = name
		keys = append(keys, key)
	}
	return byKey[near.Name(keys, names.MakerKey(typed))]
}

// Here is a maker's name as it stands on machines of the house.
type Here struct {
	Maker    string `json:"maker"`
	Machines int    `json:"machines"`
	// a more frequent name that it is a slip away from; empty when there is none
	Near string `json:"near"`
}

// MakersHere lists the makers of the house's machines, the most frequent first.
func (w *Makers) MakersHere(ctx context.Context) (list []Here, err error) {
	list = []Here{}
	tables, err := w.Intake.Tables()
	if err != nil {
		return nil, err
	}
	known := tables.Makers()
	err = w.Store.View(ctx, func(r stock.Reader) error {
		named, err := r.Makers()
		slices.SortStableFunc(named, func(a, b stock.Named) int { return cmp.Compare(b.Count, a.Count) })
		for _, n := range named {
			one := Here{Maker: n.Name, Machines: n.Count}
			if !tables.Knows(n.Name) {
				one.Near = likeMaker(known, n.Name)
			}
			known = append(known, n.Name)
			list = append(list, one)
		}
		return err
	})
	return list, err
}

// Merged is what a merging did.
type Merged struct {
	From   string         `json:"from"`
	Into   string         `json:"into"`
	Tags   []registry.Tag `json:"tags"`  // machines that bear the other name now
	Bases  []registry.Tag `json:"bases"` // and bases
	Spares int            `json:"spares"`
	Lines  int            `json:"order_lines"`
	Twins  []Twins        `json:"twins"`
}

// Twins are two machines that have one maker and one serial number since: they may be one machine.
type Twins struct {
	Tag    registry.Tag `json:"tag"`
	Other  registry.Tag `json:"other"`
	Serial string       `json:"serial"`
}

// MergeMakers gives whatever bears one spelling of a maker another, in one action that can be undone, and
// dates the machines under it. What other houses hold keeps what it has.
func (w *Makers) MergeMakers(ctx context.Context, by registry.Initials, from, into, why string) (*Merged,
	error) {
	from, into = strings.TrimSpace(from), strings.TrimSpace(into)
	unknown := names.MakerKey("unknown")
	switch key, other := names.MakerKey(from), names.MakerKey(into); {
	case key == "":
		return nil, registry.Errorf(registry.Invalid,
			"maker is empty: type the name that is to go").On("from")
	case other == "":
		return nil, registry.Errorf(registry.Invalid,
			"maker is empty: type the name that is to stay").On("into")
	case from == into:
		return nil, registry.Errorf(registry.Invalid, "%q and %q are one name: type the other spelling", from,
			into).On("into")
	case key == unknown || other == unknown:
		return nil, registry.Errorf(registry.Invalid,
			"%q is no maker: what nobody knows the maker of is not of one maker, so correct each machine "+
				"by itself", "unknown").On("from")
	}
	out := &Merged{From: from, Into: into, Tags: []registry.Tag{}, Bases: []registry.Tag{}, Twins: []Twins{}}
	err := w.Act(ctx, by, "merge makers", why, func(tx stock.Tx) error {
		if err := w.renameMachines(tx, by, out); err != nil {
			return err
		}
		if err := out.renameBases(tx); err != nil {
			return err
		}
		if err := out.renameRest(tx); err != nil {
			return err
		}
		if len(out.Tags)+len(out.Bases)+out.Spares+out.Lines == 0 {
			return registry.Errorf(registry.NotFound, "nothing here is of maker %q: look how it is spelt",
				from).On("from")
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// goes says whether a name is the one that is to go.
func (m *Merged) goes(maker string) bool {
	return maker != m.Into && names.MakerKey(maker) == names.MakerKey(m.From)
}

func (w *Makers) renameMachines(tx stock.Tx, by registry.Initials, out *Merged) error {
	err := tx.Machines(stock.MachineFilter{Here: true}, func(m *stock.Machine) error {
		if out.goes(m.Maker) {
			out.Tags = append(out.Tags, m.Tag)
		}
		return nil
	})
	if err != nil {
		return err
	}
	field, _ := stock.FieldNamed("maker")
	for _, tag := range out.Tags {
		m, err := stock.MachineByTag(tx, tag)
		if err != nil {
			return err
		}
		rename := func(m *stock.Machine) error { return field.Set(m, []string{out.Into}) }
		if err := w.Intake.Correct(tx, by, m, rename); err != nil {
			return err
		}
		if err := tx.Put(m); err != nil {
			return err
		}
		found, err := intake.Twins(tx, m)
		if err != nil {
			return err
		}
		for _, t := range found {
			if !slices.ContainsFunc(out.Twins,
				func(o Twins) bool { return o.Tag == t.Tag && o.Other == tag }) {
				out.Twins = append(out.Twins, Twins{tag, t.Tag, m.Serial})
			}
		}
	}
	return nil
}

func (m *Merged) renameBases(tx stock.Tx) error {
	var bases []stock.Base
	if err := tx.All(&bases, stock.Fields{}); err != nil {
		return err
	}
	for i := range bases {
		if b := &bases[i]; b.HandedTo == "" && m.goes(b.Maker) {
			b.Maker = m.Into
			if err := tx.Put(b); err != nil {
				return err
			}
			m.Bases = append(m.Bases, b.Tag)
		}
	}
	return nil
}

// renameRest renames what is looked for by a machine's maker: spare parts, and what orders ask for.
func (m *Merged) renameRest(tx stock.Tx) error {
	var parts []spares.Spare
	if err := tx.All(&parts, stock.Fields{}); err != nil {
		return err
	}
	for i := range parts {
		if s := &parts[i]; m.goes(s.Maker) {
			s.Maker = m.Into
			if err := tx.Put(s); err != nil {
				return err
			}
			m.Spares++
		}
	}
	var lines []orders.OrderLine
	if err := tx.All(&lines, stock.Fields{}); err != nil {
		return err
	}
	for i := range lines {
		if l := &lines[i]; m.goes(l.Maker) {
			l.Maker = m.Into
			if err := tx.Put(l); err != nil {
				return err
			}
			m.Lines++
		}
	}
	return nil
}
