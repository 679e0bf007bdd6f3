package stock

import (
	"slices"
)

// Estimate is when a machine was made.
type Estimate struct {
	From  *int   `json:"from"`
	To    *int   `json:"to"`
	Best  *int   `json:"best"`
	Basis string `json:"basis"`
	About bool   `json:"about"`
}

// Estimate is the machine's own.
func (m *Machine) Estimate() Estimate { return Estimate{m.From, m.To, m.Best, m.Basis, m.About} }

// Same says whether both give a machine the same years, on the same ground.
func (e Estimate) Same(o Estimate) bool {
	return e.Basis == o.Basis && e.About == o.About && sameYear(e.From, o.From) && sameYear(e.To, o.To) &&
		sameYear(e.Best, o.Best)
}

func sameYear(a, b *int) bool { return a == b || a != nil && b != nil && *a == *b }

// SameEvidence says whether both would be dated alike.
func (m *Machine) SameEvidence(o *Machine) bool {
	return m.Maker == o.Maker && m.Serial == o.Serial && m.Model == o.Model &&
		slices.Equal(m.Patents, o.Patents) &&
		slices.Equal(m.PatentYears, o.PatentYears) && slices.Equal(m.Seen, o.Seen) &&
		slices.Equal(m.Clues, o.Clues) &&
		sameYear(m.Known, o.Known) && m.Because == o.Because
}
