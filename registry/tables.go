package registry

import (
	"slices"
	"strings"
	"unicode"
)

// The rows of the house's editable lists. They are read by the lists package from CSV files that people keep in a spreadsheet;
// Check says what is wrong with a row, Key what may stand only once.

// DriveSet is the set of drives a row is for, written as words such as "hand treadle". Empty, or "any", is all of them.
type DriveSet []Drive

// UnmarshalText reads the words of a drive column.
func (d *DriveSet) UnmarshalText(text []byte) error {
	*d = nil
	for word := range strings.FieldsFuncSeq(strings.ToLower(string(text)), func(r rune) bool { return r == ' ' || r == '+' || r == '/' }) {
		if word == "any" {
			*d = nil
			return nil
		}
		drive := Drive(word)
		if !slices.Contains(Drives, drive) {
			return Errorf(Invalid, "drive %q is not known: type any, or one or more of hand, treadle or electric", word)
		}
		*d = append(*d, drive)
	}
	return nil
}

// Has says whether the row is for this drive.
func (d DriveSet) Has(drive Drive) bool { return len(d) == 0 || slices.Contains(d, drive) }

// BenchJob is one kind of bench work, from jobs.csv.
type BenchJob struct {
	Job        string   `csv:"job" json:"job"`               // short word typed at the bench
	What       string   `csv:"what" json:"what"`             // what is done
	Drives     DriveSet `csv:"drive" json:"drive"`           // machines it is done on
	Caution    Caution  `csv:"caution" json:"caution"`       // shown where the job is met
	Electrical YesNo    `csv:"electrical" json:"electrical"` // after it an earlier safety pass stands no longer
}

func (j BenchJob) Key() string { return strings.ToLower(j.Job) }

// Needs is the column that no list of jobs may lack: without it, a safety pass would outlive work on the wiring.
func (j BenchJob) Needs() string { return "electrical" }

// Check says what is wrong with the row.
func (j BenchJob) Check() error {
	if err := checkWord("job", j.Job); err != nil {
		return err
	}
	if j.What == "" {
		return Errorf(Invalid, "what is empty for job %q: type what is done", j.Job)
	}
	if j.Caution != NoCaution && j.Caution.Text() == "" {
		var known []string
		for c := range cautions {
			known = append(known, string(c))
		}
		slices.Sort(known)
		return Errorf(Invalid, "caution %q is not known: leave it empty or type one of %s", string(j.Caution), strings.Join(known, ", "))
	}
	return nil
}

// TestPoint is one point of the function test, from points.csv.
type TestPoint struct {
	Point    string   `csv:"point" json:"point"`       // short word typed for a fail
	Ask      string   `csv:"ask" json:"ask"`           // the question, answered yes when it passes
	Drives   DriveSet `csv:"drive" json:"drive"`       // machines it is asked of
	Measured string   `csv:"measured" json:"measured"` // empty, or what is measured: stitch
}

// MeasuredStitch is the one measure a point can ask for so far: ruler length and stitches counted.
const MeasuredStitch = "stitch"

func (p TestPoint) Key() string { return strings.ToLower(p.Point) }

// Check says what is wrong with the row.
func (p TestPoint) Check() error {
	if err := checkWord("point", p.Point); err != nil {
		return err
	}
	if p.Ask == "" {
		return Errorf(Invalid, "ask is empty for point %q: type the question that a good machine answers with yes", p.Point)
	}
	if p.Measured != "" && p.Measured != MeasuredStitch {
		return Errorf(Invalid, "measured %q is not known: leave it empty or type %s", p.Measured, MeasuredStitch)
	}
	return nil
}

// PartKind is one kind of part, from parts.csv. A real part moves one by one from machine to machine; a small thing is counted.
// Maker, model and class say what it fits; empty fits all.
type PartKind struct {
	Part       string   `csv:"part" json:"part"`
	What       string   `csv:"what" json:"what"`
	Counted    YesNo    `csv:"counted" json:"counted"`
	Maker      string   `csv:"maker" json:"maker"`
	Model      string   `csv:"model" json:"model"`
	Class      string   `csv:"class" json:"class"`           // class of shuttle or bobbin
	Drives     DriveSet `csv:"drive" json:"drive"`           // machines that have one
	Electrical YesNo    `csv:"electrical" json:"electrical"` // fitting it is electrical work
	Weight     Mass     `csv:"weight" json:"weight_kg"`
}

func (p PartKind) Key() string { return strings.ToLower(p.Part) }

// Needs is the column that no list of parts may lack, for the same reason as one of jobs.
func (p PartKind) Needs() string { return "electrical" }

// Check says what is wrong with the row.
func (p PartKind) Check() error {
	if err := checkWord("part", p.Part); err != nil {
		return err
	}
	if p.What == "" {
		return Errorf(Invalid, "what is empty for part %q: type its name as people say it", p.Part)
	}
	return nil
}

// fits says whether the part goes into this machine. What nobody recorded of the machine, an unknown maker included, is left to the person
// at the bench.
func (p PartKind) fits(m *Machine) bool {
	may := func(limit, have string) bool {
		return limit == "" || have == "" || have == "unknown" || strings.EqualFold(limit, have)
	}
	return p.Drives.Has(m.Drive) && may(MakerKey(p.Maker), MakerKey(m.Maker)) && may(p.Model, m.Model) && may(p.Class, m.Bobbin)
}

// Reason is one line of the pick-list for --why, from reasons.csv.
type Reason struct {
	Way string `csv:"way" json:"way"` // refurbish, parts, sale, scrap or hold
	Why string `csv:"why" json:"why"`
}

var reasonWays = []string{"refurbish", "parts", "sale", "scrap", "hold"}

func (r Reason) Key() string { return r.Way + " " + strings.ToLower(r.Why) }

// Check says what is wrong with the row.
func (r Reason) Check() error {
	if !slices.Contains(reasonWays, r.Way) {
		return Errorf(Invalid, "way %q is not known: type one of %s", r.Way, strings.Join(reasonWays, ", "))
	}
	if r.Why == "" {
		return Errorf(Invalid, "why is empty: type the reason")
	}
	return nil
}

// YesNo is a yes or no in a spreadsheet; empty is no.
type YesNo bool

// UnmarshalText reads yes or no as people write it.
func (y *YesNo) UnmarshalText(text []byte) error {
	switch strings.ToLower(string(text)) {
	case "yes", "y", "true", "1":
		*y = true
	case "", "no", "n", "false", "0":
		*y = false
	default:
		return Errorf(Invalid, "%q is neither yes nor no: type yes or no", text)
	}
	return nil
}

// checkWord asks for one short word that can be typed after a flag without quotes.
func checkWord(field, word string) error {
	if word == "" || len(word) > 40 || strings.ContainsFunc(word, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-')
	}) {
		return Errorf(Invalid, "%s %q is not one short word: type small letters, digits and hyphens such as needle-bar", field, word)
	}
	return nil
}

// ColumnName says what a column of other people's spreadsheets holds, from columns.csv.
type ColumnName struct {
	Column string `csv:"column" json:"column"` // its heading
	Field  string `csv:"field" json:"field"`   // what the house calls it; - leaves the column out
}

// ColumnLeftOut stands in place of a field for a column that is not wanted.
const ColumnLeftOut = "-"

// ImportFields lists what a column of a spreadsheet can be.
func ImportFields() []string {
	names := []string{"tag", "id"}
	for _, f := range MachineFields {
		names = append(names, f.Name)
	}
	return names
}

// ColumnKey is the same for every way in which people write one heading. One without a letter, such as #, stands for itself.
func ColumnKey(heading string) string {
	key := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, heading)
	if key == "" {
		return strings.TrimSpace(heading)
	}
	return key
}

func (c ColumnName) Key() string { return ColumnKey(c.Column) }

// Check says what is wrong with the row.
func (c ColumnName) Check() error {
	if c.Key() == "" {
		return Errorf(Invalid, "column %q has no name: type the heading of a column", c.Column)
	}
	if c.Field != ColumnLeftOut && !slices.Contains(ImportFields(), c.Field) {
		return Errorf(Invalid, "field %q is not known: type %s, or - to leave the column out", c.Field, orList(ImportFields()))
	}
	return nil
}
