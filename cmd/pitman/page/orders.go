package page

import (
	"fmt"
	"net/http"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/packing"
)

type ordersPage struct {
	Said   string
	Orders []orderRow
}

type orderRow struct {
	Number, Partner, Due  string
	Asked, Filled, Packed int
}

// orders lists what is open, the next to leave first.
func (s *Server) orders(v *visit) error {
	views, err := s.ViewOrders(v.ctx(), orders.OrderOpen)
	if err != nil {
		return err
	}
	p := ordersPage{Said: s.said.take(v.phone.ID)}
	for _, o := range views {
		row := orderRow{Number: o.Number, Partner: o.Partner, Due: fmt.Sprint(o.Due), Filled: len(o.Sets)}
		for _, l := range o.Lines {
			row.Asked += l.Asked
		}
		for _, set := range o.Sets {
			if !set.PackedAt.IsZero() {
				row.Packed++
			}
		}
		p.Orders = append(p.Orders, row)
	}
	s.show(v.w, v.Request, http.StatusOK, "orders.html", "Orders", p)
	return nil
}

type packingPage struct {
	Number, Partner string
	Said, Refused   string
	Key             string
	Cautions        []string
	Left            packing.Progress
	Filled          bool
	Tag             string
	Kit             string // what is still to be put with the piece
	SecondLook      string
}

// order packs the pieces of one order, one scan after another, and ships it when all are in.
func (s *Server) order(v *visit) error {
	number, err := orders.ParseOrder(v.PathValue("order"))
	if err != nil {
		return err
	}
	p := packingPage{Number: number, Key: newKey()}
	status := http.StatusOK
	if v.Method == http.MethodPost {
		if err := v.parse(); err != nil {
			return err
		}
		a := answers(v.PostForm)
		if a.get("do") == "ship" {
			return s.ship(v, number, a)
		}
		if err := s.packOne(v, &p, a); err != nil {
			if registry.CodeOf(err) == "" {
				return err
			}
			p.Refused, status = sentence(err), http.StatusConflict
		}
	} else {
		p.Said = s.said.take(v.phone.ID)
	}
	view, err := s.ViewOrder(v.ctx(), number)
	if err != nil {
		return err
	}
	p.Partner, p.Filled = view.Partner, len(view.Sets) > 0
	if p.Left, err = s.PackingOf(v.ctx(), number); err != nil {
		return err
	}
	p.Cautions = append([]string{registry.CautionLifting.Text()}, p.Cautions...)
	s.show(v.w, v.Request, status, "order.html", "Pack "+number, p)
	return nil
}

// packOne takes a piece into its crate. What its kit lacks is put with it first, and where the house looks
// twice, the second look is asked: both are shown once and done when the same piece is sent again.
func (s *Server) packOne(v *visit, p *packingPage, a answers) error {
	read, err := s.scannedPicture(v)
	if err != nil {
		return err
	}
	if read.tag == "" && read.said != "" {
		p.Said = read.said
		return nil
	}
	scanned := read.tag
	if scanned == "" {
		if scanned, err = registry.ParseTag(a.get("tag")); err != nil {
			return err
		}
	}
	seen, err := a.initials("heritage-seen-by")
	if err != nil {
		return err
	}
	withKit := false
	m, err := s.Machine(v.ctx(), scanned)
	if err == nil && m.Stage == registry.Reserved {
		kit, err := s.KitFor(v.ctx(), p.Number, scanned)
		if err != nil {
			return err
		}
		twice := s.SecondLook(m, registry.Shipped)
		if a.get("with") != string(scanned) && (len(kit.Lacks) > 0 || twice) {
			p.Tag, p.Kit = string(scanned), kit.Missing()
			if twice {
				p.SecondLook = m.LooksTwice()
			}
			return nil
		}
		withKit = len(kit.Lacks) > 0
	}
	var done packing.Progress
	if ctx := v.sending(a.get("key"), "", 0).ctx(); withKit {
		done, err = s.PackWithKit(ctx, v.by, p.Number, scanned, seen)
	} else {
		done, err = s.Pack(ctx, v.by, p.Number, []registry.Tag{scanned}, seen)
	}
	if isSentBefore(err) {
		p.Said = sentTwice
		return nil
	}
	if err != nil {
		return err
	}
	p.Cautions = done.Cautions
	if p.Said = fmt.Sprintf("%s is in its crate.", scanned); len(done.Packed) == 0 {
		p.Said = fmt.Sprintf("%s was packed already.", scanned)
	}
	return nil
}

func (s *Server) ship(v *visit, number string, a answers) error {
	_, sets, err := s.ShipOrder(v.sending(a.get("key"), "", 0).ctx(), v.by, number, packing.Delivery{})
	switch {
	case isSentBefore(err):
		s.said.put(v.phone.ID, sentTwice)
	case err != nil:
		return err
	default:
		s.said.put(v.phone.ID, packing.Gone(number, sets))
	}
	v.goOn("/orders")
	return nil
}
