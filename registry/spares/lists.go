package spares

import (
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// PartKind is one kind of part, from parts.csv. A real part moves one by one from machine to machine; a small
// thing is counted. Maker, model and class say what it fits; empty fits all.
type PartKind struct {
	Part       string            `csv:"part" json:"part"`
	What       string            `csv:"what" json:"what"`
	Counted    registry.YesNo    `csv:"counted" json:"counted"`
	Maker      string            `csv:"maker" json:"maker"`
	Model      string            `csv:"model" json:"model"`
	Class      string            `csv:"class" json:"class"`           // class of shuttle or bobbin
	Drives     registry.DriveSet `csv:"drive" json:"drive"`           // machines that have one
	Electrical registry.YesNo    `csv:"electrical" json:"electrical"` // fitting it is electrical work
	Weight     measure.Mass      `csv:"weight" json:"weight_kg"`
}

func (p PartKind) Key() string { return strings.ToLower(p.Part) }

// Needs is the column that no list of parts may lack, for the same reason as one of jobs.
func (p PartKind) Needs() string { return "electrical" }

// Check says what is wrong with the row.
func (p PartKind) Check() error {
	if err := registry.CheckWord("part", p.Part); err != nil {
		return err
	}
	if p.What == "" {
		return registry.Errorf(registry.Invalid, "what is empty for part %q: type its name as people say it",
			p.Part)
	}
	return nil
}

// Fits says whether the part goes into this machine. What nobody recorded of the machine, an unknown maker
// included, is left to the person at the bench.
func (p PartKind) Fits(m *stock.Machine) bool {
	may := func(limit, have string) bool {
		return limit == "" || have == "" || have == "unknown" || strings.EqualFold(limit, have)
	}
	return p.Drives.Has(m.Drive) && may(stock.MakerKey(p.Maker), stock.MakerKey(m.Maker)) &&
		may(p.Model, m.Model) && may(p.Class, m.Bobbin)
}
