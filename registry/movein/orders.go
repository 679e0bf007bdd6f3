package movein

import (
	"cmp"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/orders"
	"pitman/registry/partners"
	"pitman/registry/stock"
)

func partnerFields() []string { return namesOf(partners.Fields) }

// partnerRows takes partners in. One is in the house already when its name is, however it is written.
type partnerRows struct{}

func (partnerRows) add(tx stock.Tx, row cells) (out Row, err error) {
	p := &partners.Partner{MovedIn: imports.MovedIn}
	if err := setAll(p, partners.Fields, row); err != nil {
		return out, err
	}
	out.Name, out.Does = p.Name, imports.RowNew
	if p.Name == "" {
		return out, registry.Errorf(registry.Invalid, "the cell is empty: type the partner's name").On("name")
	}
	known, err := partners.Named(tx, p.Name)
	if err != nil {
		return out, err
	}
	if known != nil {
		out.Does, out.ID = imports.RowSame, known.ID
		return out, nil
	}
	err = partners.Enter(tx, p)
	out.ID = p.ID
	return out, err
}

// orderFields are those of an order and of its lines: a row is a line, and rows of one order say so by its
// number there.
func orderFields() []string {
	return append(append([]string{"order", "state", "kind", "quantity"}, namesOf(orders.OrderFields)...),
		slices.DeleteFunc(namesOf(orders.LineFields), func(name string) bool { return name == "note" })...)
}

type orderRows struct {
	w    *MoveIn
	here map[string]string        // orders that came in before, by their number there
	open map[string]*orders.Order // of this list, by their number there
}

func (w *MoveIn) newOrders(r stock.Reader) (adder, error) {
	rows := &orderRows{w: w, here: map[string]string{}, open: map[string]*orders.Order{}}
	all, err := orders.All(r, "")
	for _, o := range all {
		if o.ImportID != "" {
			rows.here[o.ImportID] = o.Number
		}
	}
	return rows, err
}

func (rows *orderRows) add(tx stock.Tx, row cells) (out Row, err error) {
	out.Name, out.Does = row["for"], imports.RowNew
	id := row["order"]
	if id != "" {
		if id, err = stock.ParseImportID(id); err != nil {
			return out, registry.OnField("order", err)
		}
	}
	if number := rows.here[id]; number != "" && id != "" {
		out.Does, out.ID = imports.RowSame, number
		return out, nil
	}
	o := rows.open[id]
	switch {
	case o == nil || id == "":
		if o, err = rows.enter(tx, id, row); err != nil {
			return out, err
		}
	default:
		if err := agrees(o, row); err != nil {
			return out, err
		}
	}
	out.ID = o.Number
	if o.State != orders.OrderOpen {
		out.Remark = "comes in as " + string(o.State) + ", for the history: no machine here went with it"
	}
	l, err := orders.NewLine(o.Number, row["kind"], row["quantity"])
	if err != nil {
		field := "kind"
		if slices.Contains(orders.WantedKinds, orders.Wanted(row["kind"])) {
			field = "quantity"
		}
		return out, registry.OnField(field, err)
	}
	if err := setAll(l, orders.LineFields, row); err != nil {
		return out, err
	}
	return out, orders.EnterLine(tx, l)
}

// enter opens an order as its first row tells it. One that is not open any more comes in as history.
func (rows *orderRows) enter(tx stock.Tx, id string, row cells) (*orders.Order, error) {
	o := &orders.Order{}
	if err := setAll(o, orders.OrderFields, row); err != nil {
		return nil, err
	}
	state, err := orders.ParseOrderState(strings.ToLower(cmp.Or(row["state"], string(orders.OrderOpen))))
	if err != nil {
		return nil, registry.OnField("state", err)
	}
	o.ImportID, o.MovedIn = id, told(row, "order", "state")
	if err := rows.w.Orders.EnterOrder(tx, o); err != nil {
		return nil, err
	}
	if state != orders.OrderOpen {
		o.State = state
		if err := tx.Put(o); err != nil {
			return nil, err
		}
	}
	if id != "" {
		rows.open[id] = o
	}
	return o, nil
}

// agrees refuses a further row of an order that tells of the order what the first one does not.
func agrees(o *orders.Order, row cells) error {
	var further orders.Order
	if err := setAll(&further, orders.OrderFields, row); err != nil {
		return err
	}
	for _, f := range orders.OrderFields {
		if _, told := row[f.Name]; told && f.Name != "rate" &&
			!slices.Equal(f.Get(&further), f.Get(o)) {
			return registry.Errorf(registry.Conflict,
				"%s %q is not what the first row of order %s says, %s: have all rows of an order say the "+
					"same, "+
					"or give it another number", f.Name, row[f.Name], o.ImportID,
				strings.Join(f.Get(o), ", ")).On(f.Name)
		}
	}
	if state := cmp.Or(strings.ToLower(row["state"]), string(o.State)); state != string(o.State) {
		return registry.Errorf(registry.Conflict, "state %q is not what the first row of order %s says, %s",
			row["state"], o.ImportID, o.State).On("state")
	}
	return nil
}
