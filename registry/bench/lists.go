package bench

import (
	"cmp"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

// BenchJob is one kind of bench work, from jobs.csv.
type BenchJob struct {
	Job     string            `csv:"job" json:"job"`         // short word typed at the bench
	What    string            `csv:"what" json:"what"`       // what is done
	Drives  registry.DriveSet `csv:"drive" json:"drive"`     // machines it is done on
	Caution registry.Caution  `csv:"caution" json:"caution"` // shown where the job is met
	// after it an earlier safety pass stands no longer
	Electrical registry.YesNo `csv:"electrical" json:"electrical"`
}

func (j BenchJob) Key() string { return strings.ToLower(j.Job) }

// Needs is the column that no list of jobs may lack: without it, a safety pass would outlive work on the
// wiring.
func (j BenchJob) Needs() string { return "electrical" }

// onMains says whether the job is work on what carries the mains: by its flag, or by its words, since a house
// may have said no of what its words name.
func (j BenchJob) onMains() bool { return bool(j.Electrical) || mains.Named(j.Job+": "+j.What) }

// Check says what is wrong with the row.
func (j BenchJob) Check() error {
	if err := registry.CheckWord("job", j.Job); err != nil {
		return err
	}
	if j.What == "" {
		return registry.Errorf(registry.Invalid, "what is empty for job %q: type what is done", j.Job)
	}
	if j.Caution != registry.NoCaution && j.Caution.Text() == "" {
		var known []string
		for c := range registry.Cautions {
			known = append(known, string(c))
		}
		slices.Sort(known)
		return registry.Errorf(registry.Invalid, "caution %q is not known: leave it empty or type one of %s",
			string(j.Caution), strings.Join(known, ", "))
	}
	return nil
}

// TestPoint is one point of the function test, from points.csv.
type TestPoint struct {
	Point    string            `csv:"point" json:"point"`       // short word typed for a fail
	Ask      string            `csv:"ask" json:"ask"`           // the question, answered yes when it passes
	Drives   registry.DriveSet `csv:"drive" json:"drive"`       // machines it is asked of
	Measured string            `csv:"measured" json:"measured"` // empty, or what is measured: stitch
	// machines that it is asked of by what they sew
	Stitches registry.StitchSet `csv:"stitch" json:"stitch"`
	// a machine may do without it, so it may be answered n/a, with the reason
	MayLack registry.YesNo `csv:"may_lack" json:"may_lack"`
}

// MeasuredStitch is the one measure a point can ask for so far: ruler length and stitches counted.
const MeasuredStitch = "stitch"

func (p TestPoint) Key() string { return strings.ToLower(p.Point) }

// AskedOf says whether this machine has to answer it. What nobody said of its stitch is taken for a
// lockstitch, as most are.
func (p TestPoint) AskedOf(m *stock.Machine) bool {
	return p.Drives.Has(m.Drive) && p.Stitches.Has(cmp.Or(m.Stitch, registry.Stitches[0]))
}

// Check says what is wrong with the row.
func (p TestPoint) Check() error {
	if err := registry.CheckWord("point", p.Point); err != nil {
		return err
	}
	if p.Ask == "" {
		return registry.Errorf(registry.Invalid,
			"ask is empty for point %q: type the question that a good machine answers with yes", p.Point)
	}
	if p.Measured != "" && bool(p.MayLack) {
		return registry.Errorf(registry.Invalid,
			"may_lack of point %q is yes, and it is measured: every machine makes stitches, type no", p.Point)
	}
	if p.Measured != "" && p.Measured != MeasuredStitch {
		return registry.Errorf(registry.Invalid, "measured %q is not known: leave it empty or type %s",
			p.Measured, MeasuredStitch)
	}
	return nil
}
