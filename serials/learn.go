package serials

import (
	"cmp"
	"fmt"
	"slices"

	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// Witness is a machine of whose age something is known beside the tables.
type Witness struct {
	Tag string
	Query
	Ledger int // the year that a works ledger or a person who was there gives; 0 if none
}

// Lesson is what the witnesses say of one table row.
type Lesson struct {
	Maker    string   `json:"maker"`
	Numbers  string   `json:"numbers"`
	Years    string   `json:"years"`
	File     string   `json:"file"`
	Line     int      `json:"line"`
	Agree    []string `json:"agree"`    // tags of machines whose own evidence the row leaves possible
	Refute   []string `json:"refute"`   // and of those that it does not
	Receipts int      `json:"receipts"` // by what they refute: dated papers bound above
	Patents  int      `json:"patents"`  // patents bound below
	Ledgers  int      `json:"ledgers"`  // ledgers fix
	// by how many years at least and at most the refuting machines are younger than the row
	Late [2]int `json:"late"`
	More int    `json:"more"` // how many more are needed before the row should be mended
}

// minRefuting is how many machines must refute a row before one bad reading or receipt cannot be the reason;
// common practice, no source.
const minRefuting = 3

// Says tells the lesson in one sentence.
func (l Lesson) Says() string {
	where := fmt.Sprintf("%s:%d", l.File, l.Line)
	if len(l.Refute) == 0 {
		return fmt.Sprintf("%s bear out %s", counted(len(l.Agree), "machine"), where)
	}
	var by []string
	for _, one := range []struct {
		n    int
		what string
	}{{l.Receipts, "receipt"}, {l.Patents, "patent"}, {l.Ledgers, "ledger"}} {
		if one.n > 0 {
			by = append(by, counted(one.n, one.what))
		}
	}
	verb := "refute"
	if l.Receipts+l.Patents+l.Ledgers == 1 {
		verb = "refutes"
	}
	says := fmt.Sprintf("%s %s %s", someOf(by, 3), verb, where)
	if l.Late[1] > 0 {
		late := counted(l.Late[1], "year")
		if l.Late[0] != l.Late[1] {
			late = fmt.Sprintf("%d to %s", l.Late[0], late)
		}
		says += fmt.Sprintf("; made %s or more after the row: its numbers may have been allotted ahead",
			late)
	}
	if l.More > 0 {
		says += fmt.Sprintf("; %d more would be needed to mend the row by", l.More)
	}
	return says
}

func counted(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

// Learn lays what is known of machines beside the rows that hold their numbers. Years that come from tables
// are no evidence, so only what stands beside the serial number counts. Rows that are refuted come first,
// those by most machines before others. Nothing is changed.
func (t *Tables) Learn(witnesses []Witness) []Lesson {
	lessons := map[*table.Row]*Lesson{}
	for _, w := range witnesses {
		m := t.maker(w.Maker)
		serial := stamp.Normalise(w.Serial)
		if m == nil || serial == "" || stamp.Worn(serial) {
			continue
		}
		if r := m.register(w.Model); r != nil {
			m = r.numbers
		}
		at := stamp.LastLetter(serial) + 1
		n, ok := stamp.ParseNumber(serial[at:])
		s := m.series[serial[:at]]
		if !ok || s == nil {
			continue
		}
		limits, low := t.ownLimits(w)
		if limits == (years.Span{}) || limits.To != 0 && limits.From > limits.To {
			continue
		}
		places, around := s.Holding(n)
		for _, i := range places {
			if r := &s.Rows[i]; !around && r.Last.Known {
				one := lessons[r]
				if one == nil {
					one = &Lesson{Maker: m.name, Numbers: r.Numbers(), Years: r.Years(), File: r.File,
						Line: r.Line, Agree: []string{}, Refute: []string{}}
					lessons[r] = one
				}
				one.count(w, *r, limits, low)
			}
		}
	}
	out := []Lesson{}
	for _, l := range lessons {
		if len(l.Refute) > 0 {
			l.More = max(0, minRefuting-len(l.Refute))
		}
		slices.Sort(l.Agree)
		slices.Sort(l.Refute)
		out = append(out, *l)
	}
	slices.SortFunc(out, func(a, b Lesson) int {
		return cmp.Or(cmp.Compare(len(b.Refute), len(a.Refute)), cmp.Compare(a.File, b.File),
			cmp.Compare(a.Line, b.Line))
	})
	return out
}

// ownLimits is what the machine's evidence leaves without any table of numbers.
func (t *Tables) ownLimits(w Witness) (limits years.Span, ledger bool) {
	if w.Ledger != 0 {
		return years.Span{From: years.Year(w.Ledger), To: years.Year(w.Ledger)}, true
	}
	a, err := t.date(Query{Serial: stamp.None, Patents: w.Patents, PatentDates: w.PatentDates, Seen: w.Seen},
		yearsAlone)
	if err != nil {
		return years.Span{}, false
	}
	return a.limits(), false
}

// count counts one machine for or against the row.
func (l *Lesson) count(w Witness, r table.Row, limits years.Span, ledger bool) {
	if _, fits := (years.Span{From: r.From, To: r.To}).Meet(limits); fits {
		l.Agree = append(l.Agree, w.Tag)
		return
	}
	l.Refute = append(l.Refute, w.Tag)
	younger := limits.From > r.To
	switch {
	case ledger:
		l.Ledgers++
	case younger:
		l.Patents++
	default:
		l.Receipts++
	}
	if younger {
		late := int(limits.From - r.To)
		if l.Late[0] == 0 || late < l.Late[0] {
			l.Late[0] = late
		}
		l.Late[1] = max(l.Late[1], late)
	}
}
