package reports

import (
	"math"

	"pitman/registry"
	"pitman/registry/planning"
	"pitman/registry/stock"
)

// Demand is the arithmetic of one line of the worklist. What is open and what fills it is what the proposal
// says for all open orders; only what is not ready yet is estimated.
type Demand struct {
	Open   int     `json:"open"`    // places asked for by open orders and not yet reserved
	Ready  int     `json:"ready"`   // of them, those that the proposal fills from stock
	InHand int     `json:"in_hand"` // on the bench or waiting for its test, and good for such a place
	Rate   float64 `json:"rate"`    // share of those that will pass

	// More is how many places those in hand fill at most; NoBase, how many stay empty for want of a base,
	// however many heads are made ready.
	More   int `json:"-"`
	NoBase int `json:"no_base"`
}

// Short is how many places stay empty once those in hand have passed at the rate: open − ready − in hand ×
// rate, where no more pass for a place than there are bases for.
func (d Demand) Short() float64 {
	return max(0, float64(d.Open-d.Ready)-min(float64(d.InHand)*d.Rate, float64(d.More)))
}

// Start is how many more to start so that enough of them pass for the places that a head is missing for. It
// is not known when nothing passes, since no number is enough then.
func (d Demand) Start() (n int, known bool) {
	short := min(d.Short(), float64(d.Open-d.Ready-d.NoBase))
	if short <= 0 {
		return 0, true
	}
	if d.Rate <= 0 {
		return 0, false
	}
	// A hair below the quotient, so that 0.9 − 3 × 0.3 asks for none.
	return max(0, int(math.Ceil(short/d.Rate-1e-9))), true
}

// DriveDemand is the demand arithmetic for one kind of machine.
type DriveDemand struct {
	Drive registry.Drive `json:"drive"`
	Demand
	Queued  int     `json:"queued"` // waiting for a bench
	Missing float64 `json:"short"`
	ToStart *int    `json:"to_start"` // nil when no number would be enough
	Why     string  `json:"why"`      // what no number of heads mends, in words
	Due     string  `json:"due"`      // of the first order that waits for such a machine
}

// Wanted says whether an open order waits for more such heads than stock gives it.
func (d *DriveDemand) Wanted() bool { return d.Open-d.Ready-d.NoBase > 0 }

// The words of Why.
const (
	WhyNonePass = "nothing passes its first test: no number would be enough"
	WhyNoBase   = "these places lack a base: no number of heads fills them"
)

// demand sets what is asked beside what is there, for each drive.
func demand(r stock.Reader, out *planning.Outlook, rate float64) ([]DriveDemand, error) {
	list := []DriveDemand{}
	for _, drive := range registry.Drives {
		count := map[registry.Stage]int{}
		for _, s := range []registry.Stage{registry.Queued, registry.Bench, registry.Check} {
			n, err := r.Count(stock.MachineFilter{Drive: drive, Stage: s, Here: true})
			if err != nil {
				return nil, err
			}
			count[s] = n
		}
		p := out.Places[drive]
		d := DriveDemand{Drive: drive, Queued: count[registry.Queued], Due: p.Due,
			Demand: Demand{Open: p.Asked - p.Reserved, Ready: p.Proposed, InHand: p.InHand, Rate: rate,
				More: p.Coming, NoBase: p.NoBase}}
		if p.Empty() == 0 { // no place refuses any
			d.InHand = count[registry.Bench] + count[registry.Check]
		}
		d.Missing = d.Short()
		n, known := d.Start()
		switch d.ToStart = &n; {
		case !known:
			d.ToStart, d.Why = nil, WhyNonePass
		case d.NoBase > 0:
			d.Why = WhyNoBase
		}
		list = append(list, d)
	}
	return list, nil
}
