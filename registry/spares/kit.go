package spares

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

// KitRow is one row of kits.csv: something that goes with a machine. Needle, bobbin and plug say for which
// needle systems, classes of bobbin or shuttle and plugs the row is; several names of one thing stand with
// semicolons between them, and empty is any.
type KitRow struct {
	Part     string            `csv:"part" json:"part"` // a row of parts.csv
	Drives   registry.DriveSet `csv:"drive" json:"drive"`
	Quantity int               `csv:"quantity" json:"quantity"`
	Needle   string            `csv:"needle" json:"needle"`
	Bobbin   string            `csv:"bobbin" json:"bobbin"`
	Plug     string            `csv:"plug" json:"plug"`
}

func (k KitRow) Key() string {
	return strings.ToLower(fmt.Sprintf("%s for %v %s %s %s", k.Part, k.Drives, k.Needle, k.Bobbin, k.Plug))
}

// Check says what is wrong with the row.
func (k KitRow) Check() error {
	if err := registry.CheckWord("part", k.Part); err != nil {
		return err
	}
	if k.Quantity < 1 || k.Quantity > 1000 {
		return registry.Errorf(registry.Invalid,
			"quantity %d of part %q is none: type how many go with one machine, from 1 to 1000", k.Quantity,
			k.Part)
	}
	return nil
}

// KitItem is how many of a small thing were put with a machine. Real parts are not counted here: what is on
// the machine tells the records of spares.
type KitItem struct {
	registry.Row
	Tag   registry.Tag `json:"tag" db:"tag"`
	Part  string       `json:"part" db:"part"`
	Count int          `json:"count" db:"count"`
}

// Kind names the table.
func (*KitItem) Kind() string { return "kit_item" }

// Subject is the machine it goes with.
func (k *KitItem) Subject() string { return string(k.Tag) }

// KitLack is something that a machine's kit still lacks, or a question without whose answer nobody can say
// what belongs in it.
type KitLack struct {
	Part  string              `json:"part,omitempty"` // empty for a question
	Count int                 `json:"count"`
	Why   string              `json:"why"` // for a person: what it is, or what to find out
	Next  []registry.NextStep `json:"next,omitempty"`
}

// Leaving is how a machine goes out: what it leaves as (an either-way head may go on a base), and the plug of
// where it goes to, by its letter in IEC World Plugs; empty where no order says so.
type Leaving struct {
	As   registry.Drive
	Plug string
}

// kitFor lists the rows for a machine that leaves so, and the questions that keep the list from being whole.
// A mains plug goes with no machine loose, whatever a house's list says: who would fit it there, and who
// would test it then? It is fitted to the cord here, as the work of the order, and tested.
func kitFor(list []KitRow, m *stock.Machine, out Leaving) (kit []KitRow, open []KitLack) {
	keys := []struct {
		what, have string
		tells      string // who knows it, where it is not known
		ask        []registry.NextStep
		of         func(KitRow) string
		asked, met bool
	}{
		{what: "needle system", have: m.Needle,
			ask: []registry.NextStep{registry.Next(registry.DoAmend, m.Tag).Asking("needle")},
			of:  func(k KitRow) string { return k.Needle }},
		{what: "class of bobbin or shuttle", have: m.Bobbin,
			ask: []registry.NextStep{registry.Next(registry.DoAmend, m.Tag).Asking("bobbin")},
			of:  func(k KitRow) string { return k.Bobbin }},
		{what: "plug", tells: ": the supply of its order tells it, or whoever puts the kit with it",
			have: out.Plug,
			ask:  []registry.NextStep{registry.Next(registry.DoPutKit, m.Tag).Asking("plug")},
			of:   func(k KitRow) string { return k.Plug }},
	}
	for _, row := range list {
		if !row.Drives.Has(out.As) || mains.IsPlug(row.Part) {
			continue
		}
		fits := true
		for i := range keys {
			if limit := keys[i].of(row); limit != "" {
				keys[i].asked = true
				same := anyOf(limit, keys[i].have)
				keys[i].met = keys[i].met || same
				fits = fits && same
			}
		}
		if !fits {
			continue
		}
		if i := slices.IndexFunc(kit, func(k KitRow) bool { return k.Part == row.Part }); i >= 0 {
			kit[i].Quantity += row.Quantity
		} else {
			kit = append(kit, row)
		}
	}
	for _, key := range keys {
		switch {
		case !key.asked || key.met:
		case key.have == "":
			open = append(open,
				KitLack{Why: fmt.Sprintf("the %s is not known%s", key.what, key.tells), Next: key.ask})
		default:
			open = append(open,
				KitLack{Why: fmt.Sprintf("no row of lists/kits.csv is for the %s %q: add one", key.what,
					key.have)})
		}
	}
	return kit, open
}

// KitLacks says what a machine's kit still lacks, in the order of the list. have counts what is with it
// already, by part.
func KitLacks(list []KitRow, m *stock.Machine, out Leaving, have map[string]int) []KitLack {
	kit, open := kitFor(list, m, out)
	lacks := []KitLack{}
	for _, row := range kit {
		if short := row.Quantity - have[row.Part]; short > 0 {
			lacks = append(lacks,
				KitLack{Part: row.Part, Count: short, Why: fmt.Sprintf("%d × %s", short, row.Part)})
		}
	}
	return append(lacks, open...)
}

// KitNeed is what several machines lack of one thing, against what is in stock.
type KitNeed struct {
	Part  string `json:"part"`
	Want  int    `json:"want"`
	Stock int    `json:"stock"`
	Short int    `json:"short"`
	// of the first order that goes short of it, as they leave by their day
	Due string `json:"due,omitempty"`
}

// KitNeeds sums up what the kits of several machines lack.
func KitNeeds(lacks [][]KitLack, inHand map[string]int) []KitNeed {
	needs := []KitNeed{}
	for _, of := range lacks {
		for _, lack := range of {
			if lack.Part == "" {
				continue
			}
			i := slices.IndexFunc(needs, func(n KitNeed) bool { return n.Part == lack.Part })
			if i < 0 {
				needs, i = append(needs, KitNeed{Part: lack.Part, Stock: inHand[lack.Part]}), len(needs)
			}
			needs[i].Want += lack.Count
		}
	}
	for i := range needs {
		needs[i].Short = max(needs[i].Want-needs[i].Stock, 0)
	}
	return needs
}

// anyOf says whether one of the names in a cell means the same as the name given, however it is spaced and
// written.
func anyOf(cell, name string) bool {
	name = bareName(name)
	for one := range strings.SplitSeq(cell, ";") {
		if bareName(one) == name && name != "" {
			return true
		}
	}
	return false
}

func bareName(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '/' {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}
