package serials

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// PatentRow is a row of a table of patents: the office's first number of a year, or one number whose year is
// known.
type PatentRow struct {
	Office string // US, German, British
	Kind   string // utility, design, reissue
	Year   Year
	N      uint64
	Single bool // one dated patent; otherwise the first number of the year
	File   string
	Line   int
}

// The offices and kinds that a number can be told to be of.
var (
	offices = map[string]bool{"US": true, "German": true, "British": true}
	kinds   = map[string]string{"utility": "", "design": "D", "reissue": "RE"}
)

func patentRow(p *reader, line int, f []string) {
	r := PatentRow{Office: f[0], Kind: strings.ToLower(f[1]), File: p.table.Name, Line: line}
	for name := range offices {
		if strings.EqualFold(name, f[0]) {
			r.Office = name
		}
	}
	var ok bool
	switch _, known := kinds[r.Kind]; {
	case !offices[r.Office]:
		p.fault(line, Missing, "office %s is not known: type US, German or British", shown(f[0]))
		return
	case !known:
		p.fault(line, Missing, "kind %s is not known: type utility, design or reissue", shown(f[1]))
		return
	}
	if r.Year, ok = year(f[2]); !ok {
		p.fault(line, BadYear, "year %s is not a year: type four digits, %d to %d", shown(f[2]), minYear,
			maxYear)
		return
	}
	typed, column := f[3], "first"
	if typed == "" {
		typed, column, r.Single = f[4], "number", true
	}
	if r.N, ok = number(typed); !ok {
		p.fault(line, BadNumber,
			"%s %s is not a number: type the first number of the year under first, or a single patent "+
				"under number",
			column, shown(typed))
		return
	}
	p.table.Patents = append(p.table.Patents, r)
}

// patentIndex is the rows by office and kind.
type patentIndex map[string][]PatentRow

func patentKey(office, kind string) string { return office + " " + kind }

// patentsOf gathers the patents of all files. Tables of serial numbers kept under the maker "US patent" are
// patents, too.
func patentsOf(files []*Table) patentIndex {
	index := patentIndex{}
	add := func(r PatentRow) {
		key := patentKey(r.Office, r.Kind)
		index[key] = append(index[key], r)
	}
	for _, f := range files {
		for _, r := range f.Patents {
			add(r)
		}
		for _, r := range f.Rows {
			if MakerKey(r.Maker) != MakerKey(patentMaker) || r.modelOnly {
				continue
			}
			for kind, prefix := range kinds {
				if prefix == r.Prefix {
					add(PatentRow{Office: "US", Kind: kind, Year: r.From, N: r.First, File: r.File,
						Line: r.Line})
				}
			}
		}
	}
	for _, rows := range index {
		slices.SortFunc(rows, func(a, b PatentRow) int {
			return cmp.Or(cmp.Compare(a.N, b.N), cmp.Compare(a.Year, b.Year), cmp.Compare(a.File, b.File),
				cmp.Compare(a.Line, b.Line))
		})
	}
	return index
}

// issued bounds the year of a number by all rows, and names the one that sets the earlier bound.
func issued(rows []PatentRow, n uint64) (s span, by PatentRow) {
	for _, r := range rows {
		if n >= r.N && r.Year > s.from {
			s.from, by = r.Year, r
		}
		last := r.Year
		if !r.Single {
			last--
		}
		if (n < r.N || n == r.N && r.Single) && (s.to == 0 || last < s.to) {
			s.to = last
		}
	}
	return s, by
}

// Patent is a patent number as it is stamped: of an office and a kind, perhaps on a named part, a British one
// with its year.
type Patent struct {
	Office, Kind string
	N            uint64
	Year         Year
	Part         string
}

// The words before a number, by office and kind. German numbers are stamped D.R.P.; D.R.G.M. numbers are
// registered designs.
var patentWords = map[string][2]string{
	"": {"US", "utility"}, "US": {"US", "utility"}, "PAT": {"US", "utility"}, "USPAT": {"US", "utility"},
	"PATENT":   {"US", "utility"},
	"USPATENT": {"US", "utility"}, "P": {"US", "utility"}, "PN": {"US", "utility"}, "D": {"US", "design"},
	"DES": {"US", "design"}, "DESIGN": {"US", "design"},
	"DESPAT": {"US", "design"}, "USDESIGN": {"US", "design"}, "USD": {"US", "design"},
	"RE": {"US", "reissue"}, "REISSUE": {"US", "reissue"},
	"REIS": {"US", "reissue"}, "USRE": {"US", "reissue"},
	"DRP": {"German", "utility"}, "GERMAN": {"German", "utility"}, "GERMANPAT": {"German", "utility"},
	"DE":       {"German", "utility"},
	"DRPATENT": {"German", "utility"}, "REICHSPATENT": {"German", "utility"},
	"GB": {"British", "utility"}, "BRITISH": {"British", "utility"}, "UK": {"British", "utility"},
	"BRITISHPAT": {"British", "utility"},
	"GBPAT":      {"British", "utility"}, "BRPAT": {"British", "utility"},
}

// A number may have its thousands parted by commas, dots or blanks. A British one has its year before or
// behind a stroke, or "of" before it.
var patentForm = regexp.MustCompile(`^([A-Z. ]*?)[ .]*(?:N[OR]|№|#)?[ .:-]*` +
	`([0-9]{1,3}(?:[,. ][0-9]{3})+|[0-9]+)` +
	`(?: *(?:/| OF ) *([0-9]{1,3}(?:[,. ][0-9]{3})+|[0-9]+))?$`)

// CheckPatent says in one sentence why a patent number cannot be read, before any table is asked.
func CheckPatent(s string) error {
	_, err := readPatent(s)
	return err
}

func readPatent(typed string) (p Patent, err error) {
	no, part, _ := strings.Cut(typed, "@")
	p.Part = strings.ToLower(strings.TrimSpace(part))
	no = strings.ToUpper(strings.Join(strings.Fields(no), " "))
	bad := unreadable("patent %s is not a patent number: type the digits, with D before a design or RE "+
		"before a reissue", shown(typed))
	f := patentForm.FindStringSubmatch(no)
	if f == nil || strings.HasPrefix(no, "-") {
		if strings.HasPrefix(lettersOf(no), "DRGM") {
			return p, registered(typed)
		}
		return p, bad
	}
	word := lettersOf(f[1])
	if strings.HasPrefix(word, "DRGM") {
		return p, registered(typed)
	}
	known, ok := patentWords[word]
	if p.Office, p.Kind = known[0], known[1]; !ok {
		return p, bad
	}
	first, ok := number(digitsOf(f[2]))
	if !ok || first == 0 {
		return p, bad
	}
	p.N = first
	if f[3] == "" {
		return p, nil
	}
	second, _ := number(digitsOf(f[3]))
	if minYear <= first && first <= maxYear && (second < minYear || second > maxYear) {
		first, second = second, first
	}
	if p.Office != "British" || first == 0 || second < minYear || second > maxYear {
		return p, bad
	}
	p.N, p.Year = first, Year(second)
	return p, nil
}

func registered(typed string) error {
	return unreadable("patent %s is the number of a registered design (D.R.G.M.), which is no patent: "+
		"leave it out", shown(typed))
}

func lettersOf(s string) string { return only(s, isLetter) }
func digitsOf(s string) string  { return only(s, isDigit) }

func only(s string, keep func(byte) bool) string {
	var out []byte
	for i := 0; i < len(s); i++ {
		if keep(s[i]) {
			out = append(out, s[i])
		}
	}
	return string(out)
}

// name is the patent as it is told.
func (p Patent) name() string {
	office := map[string]string{"US": "", "German": "German ", "British": "British "}[p.Office]
	name := office + "patent " + kinds[p.Kind] + strconv.FormatUint(p.N, 10)
	if p.Year != 0 {
		name += " of " + p.Year.String()
	}
	if p.Part != "" {
		name += " on the " + p.Part
	}
	return name
}

// British numbers began again at 1 with every year from 1852 to 1915 and run on from 100001 in 1916: two
// published notes on their use.
const britishFrom, britishOn = 1852, 1916

// patent bounds the years by a patent number: the machine is not older than the patent on it. A part that can
// be replaced may be younger than the machine, so there the patent only advises.
func (t *Tables) patent(a *Answer, typed string) error {
	p, err := readPatent(typed)
	if err != nil {
		return err
	}
	name := p.name()
	rows := t.patents[patentKey(p.Office, p.Kind)]
	years, by := issued(rows, p.N)
	where := fmt.Sprintf(" (%s:%d)", by.File, by.Line)
	switch {
	case p.Office == "British" && p.Year != 0 && p.Year < britishOn:
		if p.Year < britishFrom {
			return unreadable("patent %s: British numbers with a year began in %d: look at the year again",
				shown(typed), britishFrom)
		}
		years, where = span{p.Year, p.Year}, ""
	case p.Office == "British" && years.from == 0:
		a.note("%s: British numbers began again at 1 with every year until 1915: give the year too, such "+
			"as GB 12345/1890", name)
		return nil
	case len(rows) == 0:
		a.note("%s: there is no table of patent numbers to look it up in", name)
		return nil
	case years.from == 0:
		a.note("%s is lower than the first number in the table of patents and says nothing", name)
		return nil
	case p.Office == "German": // the published table is approximate
		years.from--
		if years.to != 0 {
			years.to++
		}
	}
	reason := fmt.Sprintf("%s was issued in %d", name, years.from)
	switch {
	case years.to == 0:
		reason = fmt.Sprintf("%s was issued in %d or later", name, years.from)
	case years.to != years.from:
		reason = fmt.Sprintf("%s was issued between %d and %d", name, min(years.from, years.to),
			max(years.from, years.to))
	}
	reason += where
	switch p.Part {
	case "", "bed", "arm":
		a.bound(NotBefore, years.from, reason)
	default:
		a.note("%s; the %s can be replaced and be younger than the machine, so this does not bind", reason,
			p.Part)
	}
	return nil
}
