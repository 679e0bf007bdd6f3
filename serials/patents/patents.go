// Package patents tells when a patent was issued by the number that stands on a machine.
package patents

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// patentIndex is the rows by office and kind.
type Index map[string][]table.PatentRow

func patentKey(office, kind string) string { return office + " " + kind }

// patentsOf gathers the patents of all files. Tables of serial numbers kept under the maker "US patent" are
// patents, too.
func NewIndex(files []*table.Table) Index {
	index := Index{}
	add := func(r table.PatentRow) {
		key := patentKey(r.Office, r.Kind)
		index[key] = append(index[key], r)
	}
	for _, f := range files {
		for _, r := range f.Patents {
			add(r)
		}
		for _, r := range f.Rows {
			if names.MakerKey(r.Maker) != names.MakerKey(table.PatentMaker) || r.ModelOnly {
				continue
			}
			for kind, prefix := range table.Kinds {
				if prefix == r.Prefix {
					add(table.PatentRow{Office: "US", Kind: kind, Year: r.From, N: r.First, File: r.File,
						Line: r.Line})
				}
			}
		}
	}
	for _, rows := range index {
		slices.SortFunc(rows, func(a, b table.PatentRow) int {
			return cmp.Or(cmp.Compare(a.N, b.N), cmp.Compare(a.Year, b.Year), cmp.Compare(a.File, b.File),
				cmp.Compare(a.Line, b.Line))
		})
	}
	return index
}

// issued bounds the year of a number by all rows, and names the one that sets the earlier bound.
func issued(rows []table.PatentRow, n uint64) (s years.Span, by table.PatentRow) {
	for _, r := range rows {
		if n >= r.N && r.Year > s.From {
			s.From, by = r.Year, r
		}
		last := r.Year
		if !r.Single {
			last--
		}
		if (n < r.N || n == r.N && r.Single) && (s.To == 0 || last < s.To) {
			s.To = last
		}
	}
	return s, by
}

// Patent is a patent number as it is stamped: of an office and a kind, perhaps on a named part, a British one
// with its year.
type Patent struct {
	Office, Kind string
	N            uint64
	Year         years.Year
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
func Check(s string) error {
	_, err := readPatent(s)
	return err
}

func readPatent(typed string) (p Patent, err error) {
	no, part, _ := strings.Cut(typed, "@")
	p.Part = strings.ToLower(strings.TrimSpace(part))
	no = strings.ToUpper(strings.Join(strings.Fields(no), " "))
	bad := stamp.Unreadable("patent %s is not a patent number: type the digits, with D before a design or RE "+
		"before a reissue", stamp.Quoted(typed))
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
	first, ok := stamp.ParseNumber(digitsOf(f[2]))
	if !ok || first == 0 {
		return p, bad
	}
	p.N = first
	if f[3] == "" {
		return p, nil
	}
	second, _ := stamp.ParseNumber(digitsOf(f[3]))
	if years.First <= first && first <= years.Last && (second < years.First || second > years.Last) {
		first, second = second, first
	}
	if p.Office != "British" || first == 0 || second < years.First || second > years.Last {
		return p, bad
	}
	p.N, p.Year = first, years.Year(second)
	return p, nil
}

func registered(typed string) error {
	return stamp.Unreadable("patent %s is the number of a registered design (D.R.G.M.), which is no patent: "+
		"leave it out", stamp.Quoted(typed))
}

func lettersOf(s string) string { return only(s, stamp.IsLetter) }
func digitsOf(s string) string  { return only(s, stamp.IsDigit) }

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
	name := office + "patent " + table.Kinds[p.Kind] + strconv.FormatUint(p.N, 10)
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

// Finding is what a patent number says of the age of the machine that it is stamped on.
type Finding struct {
	From   years.Year // the machine is not older than the patent; unknown: the number says nothing
	Reason string
	Binds  bool // it stands on a part that is as old as the machine
}

// Find looks a patent number up: the machine is not older than the patent on it. A part that can be replaced
// may be younger than the machine, so there the patent only advises.
func (index Index) Find(typed string) (Finding, error) {
	p, err := readPatent(typed)
	if err != nil {
		return Finding{}, err
	}
	name := p.name()
	rows := index[patentKey(p.Office, p.Kind)]
	issue, by := issued(rows, p.N)
	where := fmt.Sprintf(" (%s:%d)", by.File, by.Line)
	switch {
	case p.Office == "British" && p.Year != 0 && p.Year < britishOn:
		if p.Year < britishFrom {
			return Finding{}, stamp.Unreadable("patent %s: British numbers with a year began in %d: "+
				"look at the year again", stamp.Quoted(typed), britishFrom)
		}
		issue, where = years.Span{From: p.Year, To: p.Year}, ""
	case p.Office == "British" && issue.From == 0:
		return Finding{Reason: name + ": British numbers began again at 1 with every year until 1915: " +
			"give the year too, such as GB 12345/1890"}, nil
	case len(rows) == 0:
		return Finding{Reason: name + ": there is no table of patent numbers to look it up in"}, nil
	case issue.From == 0:
		return Finding{Reason: name + " is lower than the first number in the table of patents and says " +
			"nothing"}, nil
	case p.Office == "German": // the published table is approximate
		issue.From--
		if issue.To != 0 {
			issue.To++
		}
	}
	found := Finding{From: issue.From, Binds: p.Part == "" || p.Part == "bed" || p.Part == "arm"}
	found.Reason = fmt.Sprintf("%s was issued in %d", name, issue.From)
	switch {
	case issue.To == 0:
		found.Reason += " or later"
	case issue.To != issue.From:
		found.Reason = fmt.Sprintf("%s was issued between %d and %d", name, min(issue.From, issue.To),
			max(issue.From, issue.To))
	}
	found.Reason += where
	if !found.Binds {
		found.Reason += fmt.Sprintf("; the %s can be replaced and be younger than the machine, so this does "+
			"not bind", p.Part)
	}
	return found, nil
}
