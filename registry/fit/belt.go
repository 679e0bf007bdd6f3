package fit

import (
	"encoding/json"
	"fmt"
	"math"
)

// Drive is the belt and what it does. A figure of zero is not known and is written as null.
type Drive struct {
	BeltMM   Figure `json:"belt_mm"`   // length to cut, joint included
	CentreMM Figure `json:"centre_mm"` // between the axes of flywheel and handwheel
	Ratio    Figure `json:"ratio"`     // turns of the handwheel for one of the flywheel
	// one stroke is the treadle down and up again, one turn of the flywheel
	PerStroke Figure `json:"stitches_per_stroke"`
}

// Figure is a number worked out from measures; zero is not known.
type Figure float64

// MarshalJSON writes null when the figure is not known.
func (f Figure) MarshalJSON() ([]byte, error) {
	if f == 0 {
		return []byte("null"), nil
	}
	return json.Marshal(float64(f))
}

// OpenBelt is the length of an open belt round two pulleys, by exact geometry. a and b are the diameters of
// the belt's centre line on each pulley, centre the distance between the axes. It reports false when the
// pulleys would touch.
//
// Source: plane geometry; Machinery's Handbook, "Belts and Pulleys".
func OpenBelt(a, b, centre float64) (length float64, ok bool) {
	if a <= 0 || b <= 0 || centre <= (a+b)/2 {
		return 0, false
	}
	phi := math.Asin((a - b) / (2 * centre)) // negative where b is the larger one, as is the difference below
	return 2*centre*math.Cos(phi) + math.Pi*(a+b)/2 + phi*(a-b), true
}

// drive works out the belt. A round belt rides on its groove's bottom, so its centre line runs half a belt
// above it on either side: the diameters that count are groove plus belt. A household head makes one stitch
// with each turn of its handwheel, so the ratio is also the number of stitches to one stroke of the treadle.
func drive(h Head, b Base, house House) (Drive, []string) {
	var d Drive
	notes := []string{}
	if b.Side == SideLeft {
		notes = append(notes,
			"the base's flywheel stands on the left, where few heads have their handwheel: look before "+
				"pairing")
	}
	if !h.Wheel.Known() || !b.Flywheel.Known() {
		return d, append(notes, "no belt length or drive ratio: both grooves must be measured")
	}
	belt := b.Belt
	if !belt.Known() {
		belt = house.Belt
		notes = append(notes, fmt.Sprintf("belt of %s taken from the house's settings", belt))
	}
	large, small := (b.Flywheel + belt).MM(), (h.Wheel + belt).MM()
	d.Ratio = rounded(large/small, 1000)
	d.PerStroke = d.Ratio

	centre, from := centreDistance(h, b)
	if centre == 0 {
		return d, append(notes,
			"no belt length: measure the centre distance, or the base's shaft-to-top height and the head's "+
				"wheel-axis height")
	}
	notes = append(notes, fmt.Sprintf("centre distance %.1f mm, %s", centre, from))
	d.CentreMM = rounded(centre, 100)
	length, ok := OpenBelt(large, small, centre)
	if !ok {
		return d, append(notes,
			fmt.Sprintf("no belt length: at %.1f mm between centres the wheels would touch, measure again",
				centre))
	}
	length += house.Joint.MM()
	if house.Joint != 0 {
		notes = append(notes, fmt.Sprintf("%+g mm for the joint is in the belt length", house.Joint.MM()))
	}
	d.BeltMM = rounded(length, 100)
	return d, notes
}

// centreDistance depends on the head that stands on the base; the distance once measured on the base serves
// where the heights are not known.
func centreDistance(h Head, b Base) (mm float64, from string) {
	if b.ShaftToTop.Known() && h.AxisHeight.Known() {
		height := (b.ShaftToTop + h.AxisHeight).MM()
		if h.BeltOffset.Known() {
			return math.Hypot(height, h.BeltOffset.MM()),
				"from the heights of shaft and handwheel and the belt-line offset"
		}
		return height, "from the heights of shaft and handwheel"
	}
	return b.Centre.MM(), "as measured on the base"
}

func rounded(v float64, parts float64) Figure { return Figure(math.Round(v*parts) / parts) }
