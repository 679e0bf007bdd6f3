package stock

import (
	"fmt"

	"pitman/registry"
	"pitman/serials"
	"pitman/serials/table"
	"pitman/serials/years"
)

// Dating is what a machine's year rests on beside the bounds themselves.
type Dating struct {
	About bool `json:"about" db:"year_about"` // the single year is likely, and no more
	// the middle of the years that are likely; nil when more than half is open
	Likely  *int              `json:"likely" db:"year_likely"`
	Known   *int              `json:"year_known" db:"year_known"`
	Because string            `json:"because" db:"year_because"`        // how the year is known
	KnownBy registry.Initials `json:"year_known_by" db:"year_known_by"` // who said so

	Clues registry.List[string] `json:"clues" db:"clues,json"` // marks on it that the house's tables name
	// the table rows of DatedBy as they read then
	DatedRows registry.List[string] `json:"dated_rows" db:"dated_rows,json"`
}

// Estimated is the machine's estimate as package serials takes it.
func (m *Machine) Estimated() years.Estimate {
	yearOf := func(y *int) years.Year {
		if y == nil {
			return 0
		}
		return years.Year(*y)
	}
	return years.Estimate{From: yearOf(m.From), To: yearOf(m.To), Best: yearOf(m.Best),
		Basis: years.Basis(m.Basis)}
}

// Year is the machine's year, said in the one way in which a year is said.
func (m *Machine) Year() string { return m.Estimated().Say(m.About) }

// Contradicted says that no year agrees with all that is known of the machine.
func (m *Machine) Contradicted() bool { return m.Estimated().Contradicted() }

// ContradictedYear is the sentence that stands wherever a machine without a possible year is shown.
const ContradictedYear = "CONTRADICTED: no year agrees with all that is known of it; look at the serial " +
	"number and the papers again"

// Query is what the machine's year is looked up by.
func (m *Machine) Query() serials.Query {
	q := serials.Query{Maker: m.Maker, Serial: m.Serial, Model: m.Model, Patents: m.Patents,
		PatentDates: m.PatentYears, Seen: m.Seen,
		Clues: m.Clues, Because: m.Because}
	if m.Known != nil {
		q.Told = *m.Known
	}
	return q
}

// ThisYear is the year by the house's clock and zone.
func (w *Stock) ThisYear() int { return w.Now().In(w.Location()).Year() }

// Keep keeps an answer on the machine.
func (m *Machine) Keep(answer serials.Answer) {
	m.From, m.To, m.Best, m.Basis = year(answer.From), year(answer.To), year(answer.Best),
		string(answer.Basis)
	m.About, m.Likely = answer.About, year(answer.Likely)
	m.DatedBy, m.DatedRows = nil, nil
	for i, row := range answer.Rows {
		m.DatedBy = append(m.DatedBy, fmt.Sprintf("%s:%d", row.File, row.Line))
		if i < maxDatedRows {
			m.DatedRows = append(m.DatedRows, row.Row().CSV())
		}
	}
	m.Key()
}

// maxDatedRows bounds what travels with a machine; a worn serial can meet thousands of rows.
const maxDatedRows = 8

// Sources are the works that the machine's year was taken from, as the rows named them then.
func (m *Machine) Sources() []string {
	var sources []string
	seen := map[string]bool{}
	for _, line := range m.DatedRows {
		if r, ok := table.ReadRow(line); ok && r.Source != "" && !seen[r.Source] {
			seen[r.Source] = true
			sources = append(sources, r.Source)
		}
	}
	return sources
}

func year(y years.Year) *int {
	if y == 0 {
		return nil
	}
	n := int(y)
	return &n
}

// SaidBy keeps who told the year, when it was told just now.
func (m *Machine) SaidBy(by registry.Initials, before *int) {
	switch {
	case m.Known == nil:
		m.KnownBy = ""
	case !sameYear(m.Known, before) || m.KnownBy == "":
		m.KnownBy = by
	}
}

// OpenBases are the bases under which a machine without any year is of unknown age, and not contradicted.
func OpenBases() (names []string) {
	for _, b := range years.OpenBases {
		names = append(names, string(b))
	}
	return names
}
