package bench

import (
	"fmt"
	"strings"

	"pitman/registry/measure"
)

// Measured lists every stitch length that was measured for a point.
func (p PointResult) Measured() (all []measure.StitchLength) {
	if p.Stitch != nil {
		all = append(all, *p.Stitch)
	}
	return append(all, p.Seams...)
}

// measures says whether any seam was measured.
func (f TestForm) measures() bool { return len(f.checks()) > 0 }

func (f TestForm) checks() (all []measure.StitchCheck) {
	if f.Stitch != nil {
		all = append(all, *f.Stitch)
	}
	return append(all, f.Seams...)
}

// judgeStitches sets each measured seam beside its dial.
func (w *Bench) judgeStitches(result *PointResult, form TestForm) error {
	got, fault, err := w.JudgeStitches(form)
	if err != nil {
		return err
	}
	result.Stitch, result.Seams = &got[0], got[1:]
	if fault != "" {
		result.Pass = false
		result.Fault = strings.TrimPrefix(result.Fault+"; "+fault, "; ")
	}
	return nil
}

// JudgeStitches says what the measured seams of a test come to, and the fault that Test will record if any is
// further off its dial than the house tolerates.
func (w *Bench) JudgeStitches(form TestForm) (all []measure.StitchLength, fault string, err error) {
	tolerance := w.Config.StitchTolerance * float64(measure.Millimetre)
	var faults []string
	for _, check := range form.checks() {
		check.Tolerance = measure.Length(measure.NearestWhole(tolerance))
		got, err := check.Measure()
		if err != nil {
			return nil, "", err
		}
		if !got.Pass {
			reverse := map[bool]string{true: "in reverse "}[got.Reverse]
			faults = append(faults, fmt.Sprintf("%s%s where the dial says %s, house tolerance ± %s", reverse,
				got.Length, got.Dial, check.Tolerance))
		}
		all = append(all, got)
	}
	return all, strings.Join(faults, "; "), nil
}
