package movein

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/imports"
	"pitman/registry/stock"
)

// baseRows takes bases in. One is in the house already when its tag is, or when its id came in before.
type baseRows struct {
	w     *MoveIn
	byID  map[string]registry.Tag
	parts []stock.BasePart
}

func (w *MoveIn) newBases(r stock.Reader) (adder, error) {
	rows := &baseRows{w: w, byID: map[string]registry.Tag{}}
	var err error
	if rows.parts, err = stock.Rows(w.Lists.BaseParts); err != nil {
		return nil, err
	}
	var b stock.Base
	return rows, r.Each(&b, func() error {
		if b.ImportID != "" {
			rows.byID[b.ImportID] = b.Tag
		}
		return nil
	})
}

func (rows *baseRows) add(tx stock.Tx, row cells) (out Row, err error) {
	b := &stock.Base{}
	if err := setAll(b, stock.BaseFields, row); err != nil {
		return out, err
	}
	out.Name, out.Does = b.Name(), imports.RowNew
	if row["tag"] != "" {
		if b.Tag, err = registry.ParseTag(row["tag"]); err != nil {
			return out, registry.OnField("tag", err)
		}
		u, err := stock.UnitByTag(tx, b.Tag)
		switch {
		case err == nil && u.Kind == registry.UnitBase:
			out.Does, out.ID = imports.RowSame, string(b.Tag)
			return out, nil
		case err == nil:
			return out, registry.Errorf(registry.Conflict,
				"tag %s is a machine in this house: correct it, or empty the cell", b.Tag).On("tag")
		case registry.CodeOf(err) != registry.NotFound:
			return out, err
		}
		if err := rows.w.Intake.MayTake(tx, b.Tag); err != nil {
			return out, registry.OnField("tag", err)
		}
	}
	if row["id"] != "" {
		if b.ImportID, err = stock.ParseImportID(row["id"]); err != nil {
			return out, registry.OnField("id", err)
		}
		if tag, here := rows.byID[b.ImportID]; here {
			out.Does, out.ID = imports.RowSame, string(tag)
			return out, nil
		}
	}
	day := row["received"]
	if day != "" {
		if day, err = fields.ParseDay("received", day); err != nil {
			return out, err
		}
	}
	received, err := rows.w.Imports.ToldDay("received", day, rows.w.Now().UTC())
	if err != nil {
		return out, registry.OnField("received", err)
	}
	if out.Stage, out.Remark, err = rows.stage(b, row["stage"]); err != nil {
		return out, err
	}
	err = rows.w.Intake.EnterBaseAs(tx, b, func() error {
		b.Stage, b.MovedIn = out.Stage, told(row, "stage", "received")
		if !received.IsZero() {
			b.LoggedAt = received
			if !slices.Contains(gone, b.Stage) { // the day on which it went is not told
				b.Since = received
			}
		}
		if b.Stage == registry.Held {
			b.HeldFrom, b.HeldWhy = registry.Logged, "held, as told by the old list"
		}
		return nil
	})
	if b.ImportID != "" && err == nil {
		rows.byID[b.ImportID] = b.Tag
	}
	out.ID = string(b.Tag)
	return out, err
}

var gone = []registry.Stage{registry.Shipped, registry.Sold, registry.Scrapped}

// stage is the rule at which stage a base comes in: in stock only with every part that one in stock needs.
func (rows *baseRows) stage(b *stock.Base, typed string) (at registry.Stage, remark string, err error) {
	at, err = registry.ParseStage(strings.ToLower(cmp.Or(typed, string(registry.Logged))))
	if err != nil {
		return "", "", registry.OnField("stage", err)
	}
	switch at {
	case registry.Queued, registry.Bench, registry.Check:
		return "", "",
			registry.Errorf(registry.Invalid, "stage %s is of machines: type logged, ready, held, "+
				"parts, sold, scrapped or shipped", at).On("stage")
	case registry.Ready, registry.Reserved, registry.Packed:
		gate := *b
		gate.Tag = "it"
		if err := rows.w.Intake.CheckBase(&gate); err != nil {
			return "", "", err
		}
		var wants *registry.Error
		if lacks := gate.ReadyGate(rows.parts); lacks != nil {
			wants, _ = lacks.(*registry.Error)
			return registry.Logged, fmt.Sprintf("%s → logged: %s", at, wants.Message), nil
		}
		if at != registry.Ready {
			remark = fmt.Sprintf("%s → ready: its place on an order does not come along", at)
		}
		return registry.Ready, remark, nil
	}
	return at, "", nil
}

// told is what stands in the history of what moved in.
func told(row cells, names ...string) string {
	said := []string{}
	for _, name := range names {
		if cell := row[name]; cell != "" {
			said = append(said, name+" "+cell)
		}
	}
	if len(said) == 0 {
		return imports.MovedIn
	}
	return imports.MovedIn + ": " + strings.Join(said, ", ")
}
