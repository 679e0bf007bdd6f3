package spares

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// kitHave counts what is with a machine: small things that were put there, and the real parts on it that no
// open need says are missing.
func (w *Spares) kitHave(r stock.Reader, m *stock.Machine, list []KitRow) (map[string]int, error) {
	var items []KitItem
	if err := r.All(&items, stock.Fields{"tag": m.Tag}); err != nil {
		return nil, err
	}
	have := map[string]int{}
	for _, item := range items {
		have[item.Part] = item.Count
	}
	parts, err := stock.Rows(w.Lists.Parts)
	if err != nil {
		return nil, err
	}
	counted := map[string]bool{}
	for _, p := range parts {
		counted[p.Part] = bool(p.Counted)
	}
	for _, row := range list {
		small, known := counted[row.Part]
		switch {
		case !known:
			return nil, registry.Errorf(registry.Invalid,
				"part %q of lists/kits.csv is not on the list of parts: add it to lists/parts.csv, or take "+
					"its row out", row.Part)
		case small:
			continue
		}
		var waits []Need
		if err := r.All(&waits, stock.Fields{"tag": m.Tag, "part": row.Part, "met": false}); err != nil {
			return nil, err
		}
		there, err := onIt(r, m.Tag, row.Part)
		if err != nil {
			return nil, err
		}
		if there && len(waits) == 0 {
			have[row.Part] = 1
		}
	}
	return have, nil
}

// leaving fills in what is not said of how a machine leaves: from the order that it is on, or else from its
// drive.
func leaving(r stock.Reader, m *stock.Machine, out Leaving) (Leaving, error) {
	if out.As != "" && out.Plug != "" {
		return out, nil
	}
	s, err := promise.SetOf(r, m.Tag)
	if registry.CodeOf(err) == registry.NotFound {
		out.As = cmp.Or(out.As, m.Drive)
		return out, nil
	}
	if err != nil {
		return out, err
	}
	o, err := orders.OrderByNumber(r, s.Order)
	if err != nil {
		return out, err
	}
	l, err := orders.LineOf(r, s.Order, s.Line)
	if err != nil {
		return out, err
	}
	return Leaving{As: cmp.Or(out.As, l.Wanted.Drive()), Plug: cmp.Or(out.Plug, o.Supply.Plug())}, nil
}

// KitLacks says what the kit of a machine lacks that leaves so.
func (w *Spares) KitLacks(r stock.Reader, m *stock.Machine, out Leaving) ([]KitLack, error) {
	list, err := stock.Rows(w.Lists.Kits)
	if err != nil {
		return nil, err
	}
	kit, _ := kitFor(list, m, out)
	have, err := w.kitHave(r, m, kit)
	if err != nil {
		return nil, err
	}
	return KitLacks(list, m, out, have), nil
}

// KitLine is one line of a machine's kit.
type KitLine struct {
	Part  string `json:"part"`
	What  string `json:"what"`
	Want  int    `json:"want"`
	Have  int    `json:"have"`
	Stock int    `json:"stock"`
	Own   bool   `json:"-"` // a part of the machine: it is fitted, not put with it
}

// Kit is what goes with one machine.
type Kit struct {
	Tag   registry.Tag   `json:"tag"`
	As    registry.Drive `json:"as"`
	Lines []KitLine      `json:"lines"`
	Lacks []KitLack      `json:"lacks"`

	Warnings []string `json:"warnings"` // what stands on every screen of the machine
}

// Missing says what is still to be put with a machine, and what there is of it.
func (k Kit) Missing() string {
	var words []string
	for _, lack := range k.Lacks {
		if lack.Part == "" {
			words = append(words, lack.Why)
			continue
		}
		have := 0
		for _, l := range k.Lines {
			if l.Part == lack.Part {
				have = l.Stock
			}
		}
		words = append(words, fmt.Sprintf("%d × %s (%d in stock)", lack.Count, lack.Part, have))
	}
	return strings.Join(words, ", ")
}

// Kit says what goes with a machine that leaves so, and what it still lacks. What is empty follows from the
// order that it is on; without one it leaves as its own drive.
func (w *Spares) Kit(ctx context.Context, tag registry.Tag, out Leaving) (k Kit, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		m, err := stock.MachineByTag(r, tag)
		if err != nil {
			return err
		}
		k, err = w.kit(r, m, out)
		return err
	})
	return k, err
}

func (w *Spares) kit(r stock.Reader, m *stock.Machine, out Leaving) (k Kit, err error) {
	if out, err = leaving(r, m, out); err != nil {
		return k, err
	}
	list, err := stock.Rows(w.Lists.Kits)
	if err != nil {
		return k, err
	}
	kit, _ := kitFor(list, m, out)
	have, err := w.kitHave(r, m, kit)
	if err != nil {
		return k, err
	}
	k = Kit{Tag: m.Tag, As: out.As, Lines: []KitLine{}, Lacks: KitLacks(list, m, out, have),
		Warnings: append([]string{}, w.Warnings(m)...)}
	for _, row := range kit {
		part, err := w.PartNamed(row.Part)
		if err != nil {
			return k, err
		}
		inHand, err := inStock(r, part)
		if err != nil {
			return k, err
		}
		k.Lines = append(k.Lines,
			KitLine{row.Part, part.What, row.Quantity, have[row.Part], inHand, !bool(part.Counted)})
	}
	return k, nil
}

// inStock counts what there is of a part: small things by quantity, real parts on the shelf.
func inStock(r stock.Reader, part PartKind) (int, error) {
	if !part.Counted {
		free, err := onShelf(r, part.Part)
		return len(free), err
	}
	s, err := supplyOf(r, part.Part)
	return s.Count, err
}

// PutKit puts with a machine whatever small things its kit lacks and the stock has, in one action. What stays
// short is in the kit returned.
func (w *Spares) PutKit(ctx context.Context, by registry.Initials, tag registry.Tag, out Leaving) (k Kit,
	err error) {
	err = w.Act(ctx, by, "kit put", "", func(tx stock.Tx) (err error) {
		k, err = w.PutKitIn(tx, tag, out)
		return err
	})
	return k, err
}

// PutKitIn is PutKit as a part of another action.
func (w *Spares) PutKitIn(tx stock.Tx, tag registry.Tag, out Leaving) (k Kit, err error) {
	m, err := stock.MachineByTag(tx, tag)
	if err != nil {
		return k, err
	}
	if u := m.Unit(); u.Gone != "" {
		return k, registry.Errorf(registry.Conflict, "%s is %s: nothing can be put with it any more", tag,
			u.Gone)
	}
	if k, err = w.kit(tx, m, out); err != nil {
		return k, err
	}
	for _, lack := range k.Lacks {
		if lack.Part == "" {
			continue
		}
		part, err := w.PartNamed(lack.Part)
		if err != nil {
			return k, err
		}
		if !part.Counted {
			continue // a real part is fitted, not put beside
		}
		if err := putItem(tx, tag, part.Part, lack.Count); err != nil {
			return k, err
		}
	}
	return w.kit(tx, m, out)
}

// NoLoosePlug refuses a kit that was put together when mains plugs still went loose into it.
func NoLoosePlug(r stock.Reader, tag registry.Tag) error {
	var items []KitItem
	if err := r.All(&items, stock.Fields{"tag": tag}); err != nil {
		return err
	}
	for _, item := range items {
		if item.Count > 0 && mains.IsPlug(item.Part) {
			return registry.Errorf(registry.Conflict,
				"the kit of %s holds %s, and no mains plug leaves loose: put the kit back into stock, and "+
					"together again without it; nothing was packed", tag, item.Part).
				Then(registry.Next(registry.DoKitBack, tag), registry.Next(registry.DoPutKit, tag))
		}
	}
	return nil
}

// putItem takes up to n of a small thing from the stock and puts them with a machine.
func putItem(tx stock.Tx, tag registry.Tag, part string, n int) error {
	s, err := supplyOf(tx, part)
	if err != nil {
		return err
	}
	if n = min(n, s.Count); n == 0 {
		return nil
	}
	item := &KitItem{}
	err = tx.Get(item, stock.Fields{"tag": tag, "part": part})
	if registry.CodeOf(err) == registry.NotFound {
		item, err = &KitItem{Tag: tag, Part: part}, nil
	}
	if err != nil {
		return err
	}
	item.Count += n
	s.Count -= n
	if err := tx.Put(item); err != nil {
		return err
	}
	return tx.Put(s)
}

// TakeKitBack puts the small things of a machine's kit back into stock, when it stays after all.
func (w *Spares) TakeKitBack(ctx context.Context, by registry.Initials, tag registry.Tag) (back []KitItem,
	err error) {
	err = w.Act(ctx, by, "kit back", "", func(tx stock.Tx) error {
		m, err := stock.MachineByTag(tx, tag)
		if err != nil {
			return err
		}
		if u := m.Unit(); u.Gone != "" {
			return registry.Errorf(registry.Conflict, "%s is %s, and its kit with it", tag, u.Gone)
		}
		back, err = takeKitBack(tx, tag)
		return err
	})
	return back, err
}

func takeKitBack(tx stock.Tx, tag registry.Tag) ([]KitItem, error) {
	var items []KitItem
	if err := tx.All(&items, stock.Fields{"tag": tag}); err != nil {
		return nil, err
	}
	back := []KitItem{}
	for i := range items {
		item := &items[i]
		if item.Count == 0 {
			continue
		}
		back = append(back, *item)
		s, err := supplyOf(tx, item.Part)
		if err != nil {
			return nil, err
		}
		s.Count += item.Count
		item.Count = 0
		if err := tx.Put(s); err != nil {
			return nil, err
		}
		if err := tx.Put(item); err != nil {
			return nil, err
		}
	}
	return back, nil
}

// Stocked is how many of one small thing there are.
type Stocked struct {
	Part  string `json:"part"`
	What  string `json:"what"`
	Count int    `json:"count"`
}

// KitStock counts the small things on the house's list of parts.
func (w *Spares) KitStock(ctx context.Context) (inHand []Stocked, err error) {
	parts, err := stock.Rows(w.Lists.Parts)
	if err != nil {
		return nil, err
	}
	inHand = []Stocked{}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		var supplies []Supply
		if err := r.All(&supplies, stock.Fields{}); err != nil {
			return err
		}
		count := map[string]int{}
		for _, s := range supplies {
			count[s.Part] = s.Count
		}
		for _, p := range parts {
			if p.Counted {
				inHand = append(inHand, Stocked{p.Part, p.What, count[p.Part]})
			}
		}
		return nil
	})
	return inHand, err
}

// ChangeSupply adds to a small thing's stock, or takes from it.
func (w *Spares) ChangeSupply(ctx context.Context, by registry.Initials, name string, change int) (s *Supply,
	err error) {
	part, err := w.smallPart(name)
	if err != nil {
		return nil, err
	}
	verb := "kit stock add"
	if change < 0 {
		verb = "kit stock take"
	}
	err = w.Act(ctx, by, verb, "", func(tx stock.Tx) error {
		if s, err = supplyOf(tx, part.Part); err != nil {
			return err
		}
		if s.Count+change < 0 {
			return registry.Errorf(registry.Conflict,
				"%d × %s are more than the %d in stock: take fewer, or count them", -change, part.Part,
				s.Count).
				On("part").Then(registry.Next(registry.DoCountStock, "").With("part", part.Part))
		}
		if s.Count+change > maxSupply {
			return registry.Errorf(registry.Invalid, "%d × %s would make more than %d: count them again",
				change, part.Part, maxSupply)
		}
		s.Count += change
		return tx.Put(s)
	})
	return s, err
}
