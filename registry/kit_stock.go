package registry

import (
	"cmp"
	"context"
)

// kitHave counts what is with a machine: small things that were put there, and the real parts on it that no open need says are missing.
func (w *Workshop) kitHave(r Reader, m *Machine, list []KitRow) (map[string]int, error) {
	var items []KitItem
	if err := r.All(&items, Fields{"tag": m.Tag}); err != nil {
		return nil, err
	}
	have := map[string]int{}
	for _, item := range items {
		have[item.Part] = item.Count
	}
	parts, err := rows(w.Lists.Parts)
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
			return nil, Errorf(Invalid, "part %q of lists/kits.csv is not on the list of parts: add it to lists/parts.csv, or take its row out", row.Part)
		case small:
			continue
		}
		var waits []Need
		if err := r.All(&waits, Fields{"tag": m.Tag, "part": row.Part, "met": false}); err != nil {
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

// leaving fills in what is not said of how a machine leaves: from the order that it is on, or else from its drive.
func leaving(r Reader, m *Machine, out Leaving) (Leaving, error) {
	if out.As != "" && out.Plug != "" {
		return out, nil
	}
	s, err := SetOf(r, m.Tag)
	if CodeOf(err) == NotFound {
		out.As = cmp.Or(out.As, m.Drive)
		return out, nil
	}
	if err != nil {
		return out, err
	}
	o, err := OrderByNumber(r, s.Order)
	if err != nil {
		return out, err
	}
	l, err := orderLine(r, s.Order, s.Line)
	if err != nil {
		return out, err
	}
	return Leaving{As: cmp.Or(out.As, l.Wanted.Drive()), Plug: cmp.Or(out.Plug, o.Supply.Plug())}, nil
}

// kitLacks says what the kit of a machine lacks that leaves so.
func (w *Workshop) kitLacks(r Reader, m *Machine, out Leaving) ([]KitLack, error) {
	list, err := rows(w.Lists.Kits)
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
	Tag   Tag       `json:"tag"`
	As    Drive     `json:"as"`
	Lines []KitLine `json:"lines"`
	Lacks []KitLack `json:"lacks"`

	Warnings []string `json:"warnings"` // what stands on every screen of the machine
}

// Kit says what goes with a machine that leaves so, and what it still lacks. What is empty follows from the order that it is on; without
// one it leaves as its own drive.
func (w *Workshop) Kit(ctx context.Context, tag Tag, out Leaving) (k Kit, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		m, err := MachineByTag(r, tag)
		if err != nil {
			return err
		}
		k, err = w.kit(r, m, out)
		return err
	})
	return k, err
}

func (w *Workshop) kit(r Reader, m *Machine, out Leaving) (k Kit, err error) {
	if out, err = leaving(r, m, out); err != nil {
		return k, err
	}
	list, err := rows(w.Lists.Kits)
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
		part, err := w.partNamed(row.Part)
		if err != nil {
			return k, err
		}
		stock, err := inStock(r, part)
		if err != nil {
			return k, err
		}
		k.Lines = append(k.Lines, KitLine{row.Part, part.What, row.Quantity, have[row.Part], stock, !bool(part.Counted)})
	}
	return k, nil
}

// inStock counts what there is of a part: small things by quantity, real parts on the shelf.
func inStock(r Reader, part PartKind) (int, error) {
	if !part.Counted {
		var free []Spare
		err := r.All(&free, Fields{"part": part.Part, "fitted_to": ""})
		return len(free), err
	}
	s, err := supplyOf(r, part.Part)
	return s.Count, err
}

// PutKit puts with a machine whatever small things its kit lacks and the stock has, in one action. What stays short is in the kit returned.
func (w *Workshop) PutKit(ctx context.Context, by Initials, tag Tag, out Leaving) (k Kit, err error) {
	err = w.act(ctx, by, "kit put", "", func(tx Tx) error {
		m, err := MachineByTag(tx, tag)
		if err != nil {
			return err
		}
		if u := m.unit(); u.Gone != "" {
			return Errorf(Conflict, "%s is %s: nothing can be put with it any more", tag, u.Gone)
		}
		if k, err = w.kit(tx, m, out); err != nil {
			return err
		}
		for _, lack := range k.Lacks {
			if lack.Part == "" {
				continue
			}
			part, err := w.partNamed(lack.Part)
			if err != nil {
				return err
			}
			if !part.Counted {
				continue // a real part is fitted, not put beside
			}
			if err := putItem(tx, tag, part.Part, lack.Count); err != nil {
				return err
			}
		}
		k, err = w.kit(tx, m, out)
		return err
	})
	return k, err
}

// putItem takes up to n of a small thing from the stock and puts them with a machine.
func putItem(tx Tx, tag Tag, part string, n int) error {
	s, err := supplyOf(tx, part)
	if err != nil {
		return err
	}
	if n = min(n, s.Count); n == 0 {
		return nil
	}
	item := &KitItem{}
	err = tx.Get(item, Fields{"tag": tag, "part": part})
	if CodeOf(err) == NotFound {
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
func (w *Workshop) TakeKitBack(ctx context.Context, by Initials, tag Tag) (back []KitItem, err error) {
	err = w.act(ctx, by, "kit back", "", func(tx Tx) error {
		m, err := MachineByTag(tx, tag)
		if err != nil {
			return err
		}
		if u := m.unit(); u.Gone != "" {
			return Errorf(Conflict, "%s is %s, and its kit with it", tag, u.Gone)
		}
		back, err = takeKitBack(tx, tag)
		return err
	})
	return back, err
}

func takeKitBack(tx Tx, tag Tag) ([]KitItem, error) {
	var items []KitItem
	if err := tx.All(&items, Fields{"tag": tag}); err != nil {
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
func (w *Workshop) KitStock(ctx context.Context) (stock []Stocked, err error) {
	parts, err := rows(w.Lists.Parts)
	if err != nil {
		return nil, err
	}
	stock = []Stocked{}
	err = w.Store.View(ctx, func(r Reader) error {
		var supplies []Supply
		if err := r.All(&supplies, Fields{}); err != nil {
			return err
		}
		count := map[string]int{}
		for _, s := range supplies {
			count[s.Part] = s.Count
		}
		for _, p := range parts {
			if p.Counted {
				stock = append(stock, Stocked{p.Part, p.What, count[p.Part]})
			}
		}
		return nil
	})
	return stock, err
}

// ChangeSupply adds to a small thing's stock, or takes from it.
func (w *Workshop) ChangeSupply(ctx context.Context, by Initials, name string, change int) (s *Supply, err error) {
	part, err := w.smallPart(name)
	if err != nil {
		return nil, err
	}
	verb := "kit stock add"
	if change < 0 {
		verb = "kit stock take"
	}
	err = w.act(ctx, by, verb, "", func(tx Tx) error {
		if s, err = supplyOf(tx, part.Part); err != nil {
			return err
		}
		if s.Count+change < 0 {
			return Errorf(Conflict, "%d × %s are more than the %d in stock: take fewer, or count them with pitman kit stock count %s NUMBER", -change, part.Part, s.Count, part.Part)
		}
		if s.Count+change > mostSupply {
			return Errorf(Invalid, "%d × %s would make more than %d: count them again", change, part.Part, mostSupply)
		}
		s.Count += change
		return tx.Put(s)
	})
	return s, err
}
